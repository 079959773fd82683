import type { PlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { aroundLine, grow, intersect, regionArea, strip, subtractRegion, unite, type Region } from '../geometry/region.ts';
import type { Vector2 } from '../geometry/vector.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import type { PlaneSite, SiteEdge, SiteObstruction } from './plane-site.ts';
import type {
  Along, EdgeSetbackRule, EdgeZoneRule, ObstructionClearanceRule, PathwayRule, Rule, WalkwayRule,
} from './rule-set.ts';
import { acos } from '../geometry/same-math.ts';

export type LossReason = 'edge' | 'obstruction' | 'access' | 'shade' | 'other';
/** What `other` is made of. */
export type OtherReason = 'tooSteep' | 'facingAway' | 'unknownHeight' | 'beneath' | 'tooSmall';

export interface Zone {
  readonly reason: LossReason;
  /** Only with the reason `other`. */
  readonly other?: OtherReason;
  readonly because: string;
  /** Flat coordinates of the plane, clipped to it. */
  readonly region: Region;
  /** What it belongs to: an edge, a parapet, an obstruction; null for ways and limits. */
  readonly of: string | null;
}

/** What rules need to know beyond the plane itself. */
export interface RuleContext {
  readonly leastWidthM: number;
  readonly longSideM: number;
  /** Mean roof height above ground. */
  readonly heightM: Measured;
  /** Share of the building's plan roof area covered by modules, where known. */
  readonly moduleShare: number;
  readonly planeCount: number;
  /** Planes left empty for the little light their slope and bearing bring, by id, with the reason. */
  readonly dimPlanes: ReadonlyMap<string, string>;
}

/** Measurement error to try: rims moved inward, obstructions grown outward. [m] */
export interface Shifts {
  readonly edge: (id: string | null, index: number) => number;
  readonly obstruction: (id: string) => number;
}

export const NO_SHIFTS: Shifts = { edge: () => 0, obstruction: () => 0 };

/**
 * Keep-clear zones of one roof plane under a rule set, each clipped to the plane. Distances run along the surface or in
 * plan, as each rule says. Every point nearer than the distance is inside, round about corners.
 */
export function keepClearZones(site: PlaneSite, rules: readonly Rule[], context: RuleContext, shifts: Shifts = NO_SHIFTS): Zone[] {
  const active = activeRules(site, rules, context);
  const zones: Zone[] = [
    ...site.edges.flatMap((edge, index) => edgeZones(site, edge, active, context, shifts.edge(edge.id, index))),
    ...parapetZones(site, active, context),
    ...site.obstructions.flatMap((one) => obstructionZones(site, one, active, shifts.obstruction(one.id))),
    ...site.covered.map(({ by, region }): Zone => ({ reason: 'other', other: 'beneath', because: `beneath roof plane ${by}`, region, of: null })),
  ];
  for (const rule of active) {
    if (rule.kind === 'walkway') zones.push(...walkwayZones(site, rule));
    if (rule.kind === 'array-limit') zones.push(...arrayLimitZones(site, rule.lengthM, rule.pathWidthM, rule.because));
  }
  // Ways up the slope go last: each is laid where it costs least of what the other rules leave.
  for (const rule of active) if (rule.kind === 'pathway') zones.push(...pathwayZones(site, rule, context, zones));
  return zones.filter((zone) => zone.region.length > 0);
}

/** Rules of a set that apply to a plane. */
export function activeRules({ plane, frame }: PlaneSite, rules: readonly Rule[], context: RuleContext): Rule[] {
  const pitch = isKnown(plane.pitchDeg) ? plane.pitchDeg.value : pitchOf(frame);
  return rules.filter((rule) => pitch >= (rule.pitchFromDeg ?? 0) && pitch <= (rule.pitchToDeg ?? 90) && context.moduleShare >= (rule.moduleShareFrom ?? 0));
}

/** Pitch as the plane's own normal says. [deg] */
const pitchOf = (frame: PlaneCoordinates): number => (acos(Math.min(1, frame.planPerSlope)) * 180) / Math.PI;

/** Widens in plan or along the surface: in plan, distances up the slope are drawn in by the cosine of the pitch first. */
function within(site: PlaneSite, along: Along, distance: number, widen: (flat: (at: Vector2) => Vector2) => Region): Region {
  if (distance <= 0) return [];
  const squeeze = along === 'plan' ? site.frame.planPerSlope : 1;
  const widened = widen(([u, v]) => [u, v * squeeze]);
  return intersect(site.region, widened.map((ring) => ring.map(([u, v]): Vector2 => [u, v / squeeze])));
}

/** Zones along one straight piece of the rim. @param rules  Those that apply. @param shift  Moves the rim inward. [m] */
export function edgeZones(site: PlaneSite, edge: SiteEdge, rules: readonly Rule[], context: RuleContext, shift: number): Zone[] {
  const asked = setbacksFor(edge, rules, context);
  if (asked.length === 0 && shift > 0) {
    return [{ reason: 'edge', because: 'measurement error', region: within(site, 'surface', shift, () => aroundLine([edge.from, edge.to], shift)), of: edge.id }];
  }
  return asked.map(({ rule, distance }): Zone => ({
    reason: rule.kind === 'edge-setback' ? rule.reason : 'edge', because: `${edge.kind}: ${rule.because}`, of: edge.id,
    region: within(site, rule.along, distance + shift, (flat) => aroundLine([flat(edge.from), flat(edge.to)], distance + shift)),
  }));
}

function parapetZones(site: PlaneSite, rules: readonly Rule[], context: RuleContext): Zone[] {
  const zones: Zone[] = [];
  for (const parapet of site.parapets) {
    zones.push({ reason: 'edge', because: `parapet ${parapet.id}: the usable roof ends at its inner face`, region: parapet.wall, of: parapet.id });
    for (const { rule, distance } of setbacksFor({ kind: 'parapet' }, rules, context)) {
      const region = within(site, rule.along, distance, (flat) => aroundLine(parapet.line.map(flat), distance));
      zones.push({ reason: rule.kind === 'edge-setback' ? rule.reason : 'edge', because: `parapet: ${rule.because}`, region, of: parapet.id });
    }
  }
  return zones;
}

interface AskedSetback {
  readonly rule: EdgeSetbackRule | EdgeZoneRule;
  readonly distance: number;
}

/**
 * Setbacks asked for along an edge. An edge of unknown kind that no rule names gets the widest setback of the set: it may
 * be any of them.
 */
function setbacksFor(edge: Pick<SiteEdge, 'kind'>, rules: readonly Rule[], context: RuleContext): AskedSetback[] {
  const all: AskedSetback[] = [];
  for (const rule of rules) {
    if (rule.kind !== 'edge-setback' && rule.kind !== 'edge-zone') continue;
    if (rule.kind === 'edge-setback') {
      if (context.longSideM < (rule.longSideFromM ?? 0) || context.longSideM >= (rule.longSideBelowM ?? Infinity)) continue;
    }
    all.push({ rule, distance: rule.kind === 'edge-setback' ? rule.distanceM : edgeZoneWidth(rule, context) });
  }
  const named = all.filter(({ rule }) => rule.edges.includes(edge.kind));
  if (named.length > 0 || edge.kind !== 'unknown' || all.length === 0) return named;
  return [all.reduce((widest, one) => (one.distance > widest.distance ? one : widest))];
}

/**
 * Width of an edge zone: the lesser of its shares, not below its floors (ASCE 7: a = min(0.1 W, 0.4 h), at least 0.04 W and
 * 3 ft). Where the height is unknown a rule that also has a width share takes that one, which is never too narrow.
 *
 * @throws RangeError when only the height could say and it is unknown; `unknownHeight` finds such rules beforehand.
 */
export function edgeZoneWidth(rule: EdgeZoneRule, context: Pick<RuleContext, 'leastWidthM' | 'heightM'>): number {
  const shares: number[] = [];
  if (rule.leastWidthShare !== undefined) shares.push(rule.leastWidthShare * context.leastWidthM);
  if (rule.heightShare !== undefined && isKnown(context.heightM)) shares.push(rule.heightShare * context.heightM.value);
  if (shares.length === 0) throw new RangeError('The height of the roof above ground is unknown.');
  return Math.max(Math.min(...shares), (rule.floorWidthShare ?? 0) * context.leastWidthM, rule.floorM ?? 0);
}

/** True for a rule that cannot be applied because the roof's height above ground is unknown. */
export const unknownHeight = (rule: Rule, context: RuleContext): boolean =>
  rule.kind === 'edge-zone' && rule.leastWidthShare === undefined && !isKnown(context.heightM);

/** An obstruction and the room around it. @param rules  Those that apply. @param shift  Moves its rim outward. [m] */
export function obstructionZones(site: PlaneSite, one: SiteObstruction, rules: readonly Rule[], shift: number): Zone[] {
  const zones: Zone[] = [{
    reason: 'obstruction', because: `${one.id} itself`, of: one.id,
    region: intersect(site.region, shift > 0 ? grow(one.footprint, shift) : one.footprint),
  }];
  for (const rule of rules) {
    if (rule.kind !== 'obstruction-clearance' || !clears(rule, one)) continue;
    const height = isKnown(one.heightAboveRoofM) ? one.heightAboveRoofM.value : 0;
    const distance = Math.max(rule.distanceM, (rule.heightFactor ?? 0) * height) + shift;
    const region = within(site, rule.along, distance, (flat) => grow(one.footprint.map((ring) => ring.map(flat)), distance));
    zones.push({ reason: 'obstruction', because: `${one.id}: ${rule.because}`, region, of: one.id });
  }
  return zones;
}

/** An obstruction of unknown height is treated as any height: every clearance of the set applies. */
function clears(rule: ObstructionClearanceRule, one: SiteObstruction): boolean {
  if (rule.shapes && one.shape !== 'unknown' && !rule.shapes.includes(one.shape)) return false;
  if (!isKnown(one.heightAboveRoofM)) return true;
  const height = one.heightAboveRoofM.value;
  return height >= (rule.fromHeightM ?? -Infinity) && height < (rule.toHeightM ?? Infinity);
}

/** Positions along the plane tried for a way up the slope. */
const PATHWAY_TRIES = 9;

function pathwayZones(site: PlaneSite, rule: PathwayRule, context: RuleContext, others: readonly Zone[]): Zone[] {
  const count = Math.round(context.planeCount === 1 ? Math.max(rule.onSinglePlane, rule.perPlane) : rule.perPlane);
  const zones: Zone[] = [];
  let free = subtractRegion(site.region, unite(...others.map((zone) => zone.region)));
  const obstructed = unite(...site.obstructions.map((one) => one.footprint));
  const [low, high] = topStretch(site);
  const [bottom, top] = extent(site, 1);
  for (let n = 0; n < count; n++) {
    let best: Region = [];
    let least = Infinity;
    for (let i = 0; i < PATHWAY_TRIES; i++) {
      const room = Math.max(0, high - low - rule.widthM);
      const middle = room > 0 ? low + rule.widthM / 2 + (room * i) / (PATHWAY_TRIES - 1) : (low + high) / 2;
      const way = intersect(site.region, strip([middle, bottom], [middle, top], rule.widthM));
      // A way blocked by an obstruction is none, unless there is no other.
      const blocked = obstructed.length > 0 && regionArea(intersect(obstructed, way)) > 1e-3;
      const cost = regionArea(intersect(free, way)) + (blocked ? 1e6 : 0);
      // A later way must not lie on an earlier one.
      const overlaps = zones.some((zone) => regionArea(intersect(zone.region, way)) > 1e-3);
      if (!overlaps && cost < least - 1e-6) {
        least = cost;
        best = way;
      }
    }
    zones.push({ reason: 'access', because: rule.because, region: best, of: null });
    free = subtractRegion(free, best);
  }
  return zones;
}

function extent(site: PlaneSite, axis: 0 | 1): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (const ring of site.region) {
    for (const corner of ring) {
      low = Math.min(low, corner[axis]);
      high = Math.max(high, corner[axis]);
    }
  }
  return [low, high];
}

/** Where along u the plane reaches its top (within a hand's breadth), widest stretch. */
function topStretch(site: PlaneSite): [number, number] {
  const [, top] = extent(site, 1);
  let low = Infinity;
  let high = -Infinity;
  for (const ring of site.region) {
    for (const [u, v] of ring) {
      if (v < top - 0.1) continue;
      low = Math.min(low, u);
      high = Math.max(high, u);
    }
  }
  return [low, high];
}

function walkwayZones(site: PlaneSite, rule: WalkwayRule): Zone[] {
  // A thing of unknown height may be one that is serviced.
  const isServiced = ({ heightAboveRoofM, footprint }: SiteObstruction): boolean =>
    (!isKnown(heightAboveRoofM) || heightAboveRoofM.value >= (rule.fromHeightM ?? 0)) && regionArea(intersect(footprint, site.region)) > 0;
  const ends = rule.to === 'drains' ? site.drains : site.obstructions.filter(isServiced).map(({ id, footprint }) => ({ id, at: middleOfRing(footprint[0]!) }));
  return ends.map(({ id, at }): Zone => ({ reason: 'access', because: `${id}: ${rule.because}`, of: null, region: wayToRim(site, id, at, rule.widthM) }));
}

/** Area of a thing a way may brush. [m²] */
const BRUSHED = 1e-3;

/**
 * The shortest straight way from a place to an outer rim of its plane that runs into no other thing and over no hole; where
 * there is none, the one with least in its way.
 */
function wayToRim(site: PlaneSite, id: string, at: Vector2, width: number): Region {
  const blocking = unite(...site.obstructions.filter((one) => one.id !== id).map(({ footprint }) => footprint));
  const outer = site.edges.filter(({ isOuter }) => isOuter);
  const ends = outer.map(({ from, to }) => nearestOnPiece(at, from, to)).map((end) => ({ end, length: Math.hypot(end[0] - at[0], end[1] - at[1]) })).sort((a, b) => a.length - b.length);
  let best: Region = [];
  let least = Infinity;
  for (const { end, length } of ends) {
    if (length === 0) continue;
    const way = strip(at, end, width);
    const free = intersect(site.region, way);
    // What is missing of the way lies over a hole or beyond a corner of the rim; half a width at its end always may.
    const missing = Math.max(0, regionArea(way) - regionArea(free) - width * width / 2);
    const inTheWay = missing + (blocking.length > 0 ? regionArea(intersect(blocking, way)) : 0);
    if (inTheWay >= least - BRUSHED) continue;
    [best, least] = [free, inTheWay];
    if (inTheWay < BRUSHED) break;
  }
  return best;
}

function middleOfRing(ring: readonly Vector2[]): Vector2 {
  const sum = ring.reduce(([x, y], at): Vector2 => [x + at[0], y + at[1]], [0, 0]);
  return [sum[0] / ring.length, sum[1] / ring.length];
}

function nearestOnPiece(at: Vector2, from: Vector2, to: Vector2): Vector2 {
  const [x, y] = [to[0] - from[0], to[1] - from[1]];
  const squared = x * x + y * y;
  const share = squared === 0 ? 0 : Math.min(1, Math.max(0, ((at[0] - from[0]) * x + (at[1] - from[1]) * y) / squared));
  return [from[0] + share * x, from[1] + share * y];
}

/** Even ways across a plane that is longer than an array may be. */
function arrayLimitZones(site: PlaneSite, length: number, width: number, because: string): Zone[] {
  const zones: Zone[] = [];
  const [left, right] = extent(site, 0);
  const [bottom, top] = extent(site, 1);
  const ways = (from: number, to: number): number[] => {
    const arrays = Math.ceil((to - from + width) / (length + width));
    return Array.from({ length: arrays - 1 }, (_, i) => from + ((to - from) * (i + 1)) / arrays);
  };
  for (const u of ways(left, right)) zones.push({ reason: 'access', because, of: null, region: intersect(site.region, strip([u, bottom], [u, top], width)) });
  for (const v of ways(bottom, top)) zones.push({ reason: 'access', because, of: null, region: intersect(site.region, strip([left, v], [right, v], width)) });
  return zones;
}
