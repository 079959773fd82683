import { fromPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import type { Region } from '../geometry/region.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { KeepClear } from '../roof/record.ts';
import { measured, type MeasuredValue } from '../units/measured.ts';
import type { PlaneFit } from './fit-building.ts';
import type { PlaneSite } from './plane-site.ts';

/** Rings on the plane, in the local frame. */
const onPlane = (site: PlaneSite, region: Region): Vector3[][] =>
  region.map((ring) => ring.map((at) => fromPlaneCoordinates(site.frame, at)));

/** Keep-clear zones of a plane as the record holds them. */
export const zonesOnPlane = ({ usable: { site, zones } }: PlaneFit): KeepClear['zones'] => zones.flatMap((zone) =>
  onPlane(site, zone.region).map((polygon) => ({ plane: site.plane.id, reason: zone.reason, because: zone.because, polygon })));

/** Usable area of a plane as the record holds it. */
export const usablePlane = ({ usable, layout }: PlaneFit) => ({
  id: usable.site.plane.id, mostModules: layout.upperBound, usableSlopeAreaM2: usable.areaM2, lostM2: usable.lostM2, otherM2: usable.otherM2, polygons: onPlane(usable.site, usable.region),
});

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
