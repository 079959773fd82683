import { fromPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { intersect, regionContains, unite, type Region, type Ring } from '../geometry/region.ts';
import type { Vector2 } from '../geometry/vector.ts';
import type { ShadeScene } from '../sun/horizon.ts';
import { solarAccess } from '../sun/solar-access.ts';
import type { SunYear } from '../sun/sun-year.ts';
import type { FitOptions } from './fit-options.ts';
import type { PlaneSite } from './plane-site.ts';

/** Side of the squares in which ground is judged for shade. [m] A quarter of a module's shorter side. */
const SQUARE = 0.25;

/**
 * Ground of a plane that the rules give up for shade: squares whose solar access is below the rule's share. Nothing when
 * no rule asks, or when shade was not computed.
 */
export function shadedGroundFinder(options: FitOptions, scene: ShadeScene | null, year: SunYear | null): (site: PlaneSite) => Region {
  let least = 0;
  for (const rule of options.rules.rules) if (rule.kind === 'plane-limit') least = Math.max(least, rule.leastSolarAccess ?? 0);
  if (least === 0 || !scene || !year) return () => [];
  return (site) => {
    const grid = accessGrid(site, scene, year, options.albedo, SQUARE);
    const dark: Ring[] = [];
    grid.centres.forEach(([u, v], i) => {
      if (grid.yearly[i]! < least) dark.push(square(u, v));
    });
    return dark.length === 0 ? [] : intersect(site.region, unite(dark));
  };
}

const square = (u: number, v: number): Ring => {
  const half = SQUARE / 2;
  return [[u - half, v - half], [u + half, v - half], [u + half, v + half], [u - half, v + half]];
};

/** Solar access on an even grid over a plane. */
export interface AccessGrid {
  /** Flat coordinates. */
  readonly centres: readonly Vector2[];
  /** 0 to 1, one per centre. */
  readonly yearly: Float64Array;
  /** Irradiation, one row of 12 per centre. [kWh/m²] */
  readonly monthlyKwhM2: Float64Array;
  /** Irradiation without shade. [kWh/m²] */
  readonly unshadedMonthlyKwhM2: Float64Array;
}

/** @param step  [m] */
export function accessGrid(site: PlaneSite, scene: ShadeScene, year: SunYear, albedo: number, step: number): AccessGrid {
  let [u0, v0, u1, v1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [u, v] of site.region.flat()) {
    u0 = Math.min(u0, u);
    v0 = Math.min(v0, v);
    u1 = Math.max(u1, u);
    v1 = Math.max(v1, v);
  }
  const centres: Vector2[] = [];
  for (let v = v0 + step / 2; v < v1; v += step) {
    for (let u = u0 + step / 2; u < u1; u += step) if (regionContains(site.region, [u, v])) centres.push([u, v]);
  }
  const positions = new Float64Array(centres.length * 3);
  centres.forEach((at, i) => positions.set(fromPlaneCoordinates(site.frame, at), i * 3));
  const access = solarAccess(scene, { positions, orientation: new Uint16Array(centres.length), orientations: [site.frame.normal] }, year, { albedo });
  return { centres, yearly: access.yearly, monthlyKwhM2: access.monthlyKwhM2, unshadedMonthlyKwhM2: access.unshadedMonthlyKwhM2[0]! };
}
