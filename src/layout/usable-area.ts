import { regionArea, regionParts, subtractRegion, unite, type Region } from '../geometry/region.ts';
import { isKnown, measured, type MeasuredValue, type UncertaintyPart } from '../units/measured.ts';
import { keepClearZones, NO_SHIFTS, unknownHeight, type LossReason, type RuleContext, type Shifts, type Zone } from './keep-clear-zones.ts';
import type { PlaneSite } from './plane-site.ts';
import type { PlaneLimitRule, Rule, RuleSet } from './rule-set.ts';

/** What may be used of one roof plane. */
export interface PlaneUsable {
  readonly site: PlaneSite;
  readonly zones: readonly Zone[];
  /** Flat coordinates of the plane. */
  readonly region: Region;
  readonly areaM2: MeasuredValue;
  readonly lostM2: Readonly<Record<LossReason, number>>;
}

/** Ground counts as lost for the first of these that takes it. */
const ORDER: readonly LossReason[] = ['edge', 'obstruction', 'access', 'shade', 'other'];

/**
 * Usable area of a roof plane: the plane less its keep-clear zones, with what was lost for each reason. Lost and usable
 * add up to the plane. The ± follows each edge and obstruction through the whole computation: its rim is moved by its
 * 95 % position error and the change of the area is its part; the plane's own scale and tilt parts are added.
 *
 * @param shaded  Ground lost to shade under the rules, flat coordinates; empty when shade was not computed.
 */
export function usableArea(site: PlaneSite, rules: RuleSet, context: RuleContext, shaded: Region = []): PlaneUsable {
  const zones = zonesOf(site, rules.rules, context, shaded);
  const { region, lostM2, limits } = whatIsLeft(site, zones, rules.rules, context);
  const areaM2 = measured(regionArea(region), areaParts(site, rules.rules, context, shaded, regionArea(region)));
  return { site, zones: [...zones, ...limits], region, areaM2, lostM2 };
}

/** Usable ground with measurement errors put in; for trying draws. */
export function usableRegion(site: PlaneSite, rules: readonly Rule[], context: RuleContext, shaded: Region, shifts: Shifts): Region {
  return whatIsLeft(site, zonesOf(site, rules, context, shaded, shifts), rules, context).region;
}

function zonesOf(
  site: PlaneSite, rules: readonly Rule[], context: RuleContext, shaded: Region, shifts: Shifts = NO_SHIFTS,
): Zone[] {
  const unfit = unusable(site, rules, context);
  if (unfit) return [{ reason: 'other', because: unfit, region: site.region, of: null }];
  const zones = keepClearZones(site, rules, context, shifts);
  if (shaded.length > 0) zones.push({ reason: 'shade', because: 'too much shade over the year', region: shaded, of: null });
  return zones;
}

function whatIsLeft(site: PlaneSite, zones: readonly Zone[], rules: readonly Rule[], context: RuleContext) {
  const lostM2: Record<LossReason, number> = { edge: 0, obstruction: 0, access: 0, shade: 0, other: 0 };
  let region = site.region;
  for (const reason of ORDER) {
    const taking = zones.filter((zone) => zone.reason === reason);
    if (taking.length === 0) continue;
    const left = subtractRegion(region, unite(...taking.map((zone) => zone.region)));
    // Rounding to 0.01 mm may leave a hair more than there was.
    lostM2[reason] = Math.max(0, regionArea(region) - regionArea(left));
    region = left;
  }
  const least = leastPart(rules, site, context);
  const limits: Zone[] = [];
  if (least) {
    const parts = regionParts(region);
    const small = parts.filter((part) => regionArea(part) < least.area);
    if (small.length > 0) {
      region = parts.filter((part) => regionArea(part) >= least.area).flat();
      lostM2.other += small.reduce((sum, part) => sum + regionArea(part), 0);
      limits.push({ reason: 'other', because: `parts below ${least.area} m²: ${least.because}`, region: small.flat(), of: null });
    }
  }
  return { region, lostM2, limits };
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
function unusable(site: PlaneSite, rules: readonly Rule[], context: RuleContext): string | null {
  const { pitchDeg, azimuthDeg } = site.plane;
  const pitch = isKnown(pitchDeg) ? pitchDeg.value : 0;
  for (const rule of planeLimits(rules)) {
    if (rule.steepestDeg !== undefined && pitch > rule.steepestDeg) return `steeper than ${rule.steepestDeg} degrees: ${rule.because}`;
    if (rule.awayFromDeg === undefined || rule.awayToDeg === undefined || !isKnown(azimuthDeg)) continue;
    if (pitch < (rule.pitchFromDeg ?? 0) || pitch > (rule.pitchToDeg ?? 90)) continue;
    const span = (rule.awayToDeg - rule.awayFromDeg + 360) % 360;
    if ((azimuthDeg.value - rule.awayFromDeg + 360) % 360 <= span) {
      return `faces ${Math.round(azimuthDeg.value)} degrees, between ${rule.awayFromDeg} and ${rule.awayToDeg}: ${rule.because}`;
    }
  }
  const heightless = rules.find((rule) => unknownHeight(rule, context)
    && pitch >= (rule.pitchFromDeg ?? 0) && pitch <= (rule.pitchToDeg ?? 90));
  return heightless ? `height above ground unknown, needed for: ${heightless.because}` : null;
}

function areaParts(
  site: PlaneSite, rules: readonly Rule[], context: RuleContext, shaded: Region, area: number,
): UncertaintyPart[] {
  if (area === 0) return [];
  const changed = (shifts: Shifts): number => Math.abs(area - regionArea(usableRegion(site, rules, context, shaded, shifts)));
  const parts: UncertaintyPart[] = [];
  const edges = new Map<string, { position: number; is: (id: string | null, index: number) => boolean }>();
  site.edges.forEach((edge, index) => {
    if (edge.positionU95M <= 0) return;
    edges.set(edge.id ?? `rim piece ${index + 1}`, {
      position: edge.positionU95M,
      is: edge.id === null ? (_, i) => i === index : (id) => id === edge.id,
    });
  });
  for (const [name, { position, is }] of edges) {
    parts.push({ name: `edge ${name}`, u95: changed({ ...NO_SHIFTS, edge: (id, index) => (is(id, index) ? position : 0) }) });
  }
  for (const one of site.obstructions) {
    if (one.positionU95M <= 0) continue;
    const u95 = changed({ ...NO_SHIFTS, obstruction: (id) => (id === one.id ? one.positionU95M : 0) });
    if (u95 > 0) parts.push({ name: `obstruction ${one.id}`, u95 });
  }
  return [...parts, ...planeParts(site, area)].filter((part) => part.u95 > 0);
}

/** The plane's own uncertainty that is not about its rim (scale, tilt), in proportion to the area. */
function planeParts(site: PlaneSite, area: number): UncertaintyPart[] {
  const { slopeAreaM2 } = site.plane;
  if (!isKnown(slopeAreaM2) || !(slopeAreaM2.value > 0)) return [];
  return (slopeAreaM2.parts ?? []).filter((part) => !/edge|outline|rim/.test(part.name))
    .map((part) => ({ name: part.name, u95: (part.u95 * area) / slopeAreaM2.value }));
}
