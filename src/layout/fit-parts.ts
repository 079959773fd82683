import { fromPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import type { Region } from '../geometry/region.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { KeepClear, Usable } from '../roof/record.ts';
import { measured, missing, type MeasuredValue } from '../units/measured.ts';
import type { PlaneFit } from './fit-building.ts';
import type { PlaneSite } from './plane-site.ts';
import type { RuleSet } from './rule-set.ts';

/** Rings on the plane, in the local frame. */
const onPlane = (site: PlaneSite, region: Region): Vector3[][] =>
  region.map((ring) => ring.map((at) => fromPlaneCoordinates(site.frame, at)));

/** Keep-clear zones as the record holds them. */
export function keepClearOf(planes: readonly PlaneFit[], rules: RuleSet): KeepClear {
  const { name, source } = rules;
  return {
    ruleSet: { name, source: `${source.title}, ${source.edition}, ${source.date}` },
    zones: planes.flatMap(({ usable: { site, zones } }) => zones.flatMap((zone) =>
      onPlane(site, zone.region).map((polygon) => ({ plane: site.plane.id, reason: zone.reason, because: zone.because, polygon })))),
  };
}

/** Usable area as the record holds it. */
export function usableOf(fits: readonly PlaneFit[]): Usable {
  const planes = fits.map(({ usable }) => ({
    id: usable.site.plane.id, usableSlopeAreaM2: usable.areaM2, lostM2: usable.lostM2, polygons: onPlane(usable.site, usable.region),
  }));
  return { planes, totalM2: fits.length === 0 ? missing('no roof planes') : sumOf(fits.map(({ usable }) => usable.areaM2)) };
}

/** Sum of areas whose errors are independent, but for those that name the same cause (`scale`), which add up straight. */
export function sumOf(areas: readonly MeasuredValue[]): MeasuredValue {
  const common = new Map<string, number>();
  let own = 0;
  for (const area of areas) {
    let shared = 0;
    for (const part of area.parts ?? []) {
      if (!/scale/.test(part.name)) continue;
      common.set(part.name, (common.get(part.name) ?? 0) + part.u95);
      shared += part.u95 * part.u95;
    }
    own += area.u95 * area.u95 - shared;
  }
  return measured(areas.reduce((sum, one) => sum + one.value, 0), [
    { name: 'planes', u95: Math.sqrt(Math.max(0, own)) },
    ...[...common].map(([name, u95]) => ({ name, u95 })),
  ]);
}
