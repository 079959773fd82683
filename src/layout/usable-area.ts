import { regionArea, regionParts, subtractRegion, unite, type Region } from '../geometry/region.ts';
import { isKnown, measured, type MeasuredValue, type UncertaintyPart } from '../units/measured.ts';
import {
  activeRules, edgeZones, keepClearZones, NO_SHIFTS, obstructionZones, unknownHeight, type LossReason, type OtherReason, type RuleContext, type Shifts, type Zone,
} from './keep-clear-zones.ts';
import type { PlaneSite, SiteEdge } from './plane-site.ts';
import type { PlaneLimitRule, Rule, RuleSet } from './rule-set.ts';

/** What may be used of one roof plane. */
export interface PlaneUsable {
  readonly site: PlaneSite;
  readonly zones: readonly Zone[];
  /** Flat coordinates of the plane. */
  readonly region: Region;
  readonly areaM2: MeasuredValue;
  readonly lostM2: Readonly<Record<LossReason, number>>;
  /** What `lostM2.other` is made of. */
  readonly otherM2: Readonly<Record<OtherReason, number>>;
}

/** Ground counts as lost for the first of these that takes it. */
const ORDER: readonly LossReason[] = ['edge', 'obstruction', 'access', 'shade', 'other'];
const OTHERS: readonly OtherReason[] = ['tooSteep', 'facingAway', 'unknownHeight', 'beneath'];

/**
 * Usable area of a roof plane: the plane less its keep-clear zones, with what was lost for each reason. Lost and usable
 * add up to the plane. The ± follows each edge and obstruction through the whole computation: its rim is moved by its
 * 95 % position error and the change of the area is its part; the plane's own scale and tilt parts are added.
 *
 * @param shaded  Ground lost to shade under the rules, flat coordinates; empty when shade was not computed.
 * @param relativeU95  Taken for the ± where it need not be worked out.
 */
export function usableArea(site: PlaneSite, rules: RuleSet, context: RuleContext, shaded: Region = [], relativeU95?: number): PlaneUsable {
  const zones = zonesOf(site, rules.rules, context, shaded);
  const { region, bare, lostM2, otherM2, limits } = whatIsLeft(site, zones, rules.rules, context);
  const area = regionArea(region);
  const areaM2 = relativeU95 === undefined ? measured(area, areaParts(site, rules.rules, context, bare, area)) : { value: area, u95: area * relativeU95 };
  return { site, zones: [...zones, ...limits], region, areaM2, lostM2, otherM2 };
}

/** Usable ground with measurement errors put in; for trying draws. */
export function usableRegion(site: PlaneSite, rules: readonly Rule[], context: RuleContext, shaded: Region, shifts: Shifts): Region {
  return whatIsLeft(site, zonesOf(site, rules, context, shaded, shifts), rules, context).region;
}

function zonesOf(
  site: PlaneSite, rules: readonly Rule[], context: RuleContext, shaded: Region, shifts: Shifts = NO_SHIFTS,
): Zone[] {
  const unfit = unusable(site, rules, context);
  if (unfit) return [{ reason: 'other', ...unfit, region: site.region, of: null }];
  const zones = keepClearZones(site, rules, context, shifts);
  if (shaded.length > 0) zones.push({ reason: 'shade', because: 'too much shade over the year', region: shaded, of: null });
  return zones;
}

function whatIsLeft(site: PlaneSite, zones: readonly Zone[], rules: readonly Rule[], context: RuleContext) {
  const lostM2: Record<LossReason, number> = { edge: 0, obstruction: 0, access: 0, shade: 0, other: 0 };
  const otherM2: Record<OtherReason, number> = { tooSteep: 0, facingAway: 0, unknownHeight: 0, beneath: 0, tooSmall: 0 };
  let bare = site.region;
  const without = (taking: readonly Zone[]): number => {
    if (taking.length === 0) return 0;
    const left = subtractRegion(bare, unite(...taking.map((zone) => zone.region)));
    // Rounding to 0.01 mm may leave a hair more than there was.
    const lost = Math.max(0, regionArea(bare) - regionArea(left));
    bare = left;
    return lost;
  };
  for (const reason of ORDER) if (reason !== 'other') lostM2[reason] = without(zones.filter((zone) => zone.reason === reason));
  for (const other of OTHERS) otherM2[other] = without(zones.filter((zone) => zone.other === other));
  const { region, small, because } = largeParts(bare, rules, site, context);
  otherM2.tooSmall = regionArea(small);
  lostM2.other = Object.values(otherM2).reduce((sum, area) => sum + area, 0);
  const limits: Zone[] = small.length > 0 ? [{ reason: 'other', other: 'tooSmall', because, region: small, of: null }] : [];
  return { region, bare, lostM2, otherM2, limits };
}

/** Connected parts that are large enough to use, and those that are not. */
function largeParts(bare: Region, rules: readonly Rule[], site: PlaneSite, context: RuleContext): { region: Region; small: Region; because: string } {
  const least = leastPart(rules, site, context);
  if (!least) return { region: bare, small: [], because: '' };
  const parts = regionParts(bare);
  const isSmall = (part: Region): boolean => regionArea(part) < least.area;
  return { region: parts.filter((part) => !isSmall(part)).flat(), small: parts.filter(isSmall).flat(), because: `parts below ${least.area} m²: ${least.because}` };
}

const planeLimits = (rules: readonly Rule[]): PlaneLimitRule[] => rules.filter((rule) => rule.kind === 'plane-limit');

function leastPart(rules: readonly Rule[], site: PlaneSite, context: RuleContext): { area: number; because: string } | null {
  const pitch = isKnown(site.plane.pitchDeg) ? site.plane.pitchDeg.value : 0;
  let found: { area: number; because: string } | null = null;
  for (const rule of planeLimits(rules)) {
    if (pitch < (rule.pitchFromDeg ?? 0) || pitch > (rule.pitchToDeg ?? 90) || context.moduleShare < (rule.moduleShareFrom ?? 0)) continue;
    if (rule.leastPartM2 !== undefined && rule.leastPartM2 > (found?.area ?? 0)) found = { area: rule.leastPartM2, because: rule.because };
  }
  return found;
}

/** Why a plane is not used at all; null when it may be. */
function unusable(site: PlaneSite, rules: readonly Rule[], context: RuleContext): Pick<Zone, 'other' | 'because'> | null {
  const { pitchDeg, azimuthDeg } = site.plane;
  const pitch = isKnown(pitchDeg) ? pitchDeg.value : 0;
  for (const rule of planeLimits(rules)) {
    if (rule.steepestDeg !== undefined && pitch > rule.steepestDeg) return { other: 'tooSteep', because: `steeper than ${rule.steepestDeg} degrees: ${rule.because}` };
    if (rule.awayFromDeg === undefined || rule.awayToDeg === undefined || !isKnown(azimuthDeg)) continue;
    if (pitch < (rule.pitchFromDeg ?? 0) || pitch > (rule.pitchToDeg ?? 90)) continue;
    const span = (rule.awayToDeg - rule.awayFromDeg + 360) % 360;
    if ((azimuthDeg.value - rule.awayFromDeg + 360) % 360 <= span) {
      return { other: 'facingAway', because: `faces ${Math.round(azimuthDeg.value)} degrees, between ${rule.awayFromDeg} and ${rule.awayToDeg}: ${rule.because}` };
    }
  }
  const dim = context.dimPlanes.get(site.plane.id);
  if (dim !== undefined) return { other: 'facingAway', because: dim };
  const heightless = rules.find((rule) => unknownHeight(rule, context)
    && pitch >= (rule.pitchFromDeg ?? 0) && pitch <= (rule.pitchToDeg ?? 90));
  return heightless ? { other: 'unknownHeight', because: `height above ground unknown, needed for: ${heightless.because}` } : null;
}

/** @param bare  What the zones leave, with its small parts. */
function areaParts(site: PlaneSite, rules: readonly Rule[], context: RuleContext, bare: Region, area: number): UncertaintyPart[] {
  if (area === 0) return [];
  const active = activeRules(site, rules, context);
  const parts: UncertaintyPart[] = [];
  /** Other zones stay where they are, ways too: only what the moved rim takes more is taken away. */
  const part = (name: string, moved: readonly Zone[]): void => {
    const left = subtractRegion(bare, unite(...moved.map(({ region }) => region)));
    const u95 = Math.abs(area - regionArea(largeParts(left, rules, site, context).region));
    if (u95 > 0) parts.push({ name, u95 });
  };
  const rims = new Map<string, SiteEdge[]>();
  site.edges.forEach((edge, index) => {
    const name = edge.id ?? `rim piece ${index + 1}`;
    if (edge.positionU95M > 0) rims.set(name, [...(rims.get(name) ?? []), edge]);
  });
  for (const [name, pieces] of rims) part(`edge ${name}`, pieces.flatMap((edge) => edgeZones(site, edge, active, context, edge.positionU95M)));
  for (const one of site.obstructions) if (one.positionU95M > 0) part(`obstruction ${one.id}`, obstructionZones(site, one, active, one.positionU95M));
  return [...parts, ...planeParts(site, area)].filter(({ u95 }) => u95 > 0);
}

/** The plane's own uncertainty that is not about its rim (scale, tilt), in proportion to the area. */
function planeParts(site: PlaneSite, area: number): UncertaintyPart[] {
  const { slopeAreaM2 } = site.plane;
  if (!isKnown(slopeAreaM2) || !(slopeAreaM2.value > 0)) return [];
  return (slopeAreaM2.parts ?? []).filter((part) => !/edge|outline|rim/.test(part.name))
    .map((part) => ({ name: part.name, u95: (part.u95 * area) / slopeAreaM2.value }));
}
