import { fromPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { intersect, regionContains, subtractRegion, unite, type Region, type Ring } from '../geometry/region.ts';
import type { Vector2 } from '../geometry/vector.ts';
import { isKnown } from '../units/measured.ts';
import type { ShadeScene } from '../sun/horizon.ts';
import { solarAccess } from '../sun/solar-access.ts';
import type { SunYear } from '../sun/sun-year.ts';
import type { FitOptions } from './fit-options.ts';
import type { PlaneSite, SiteObstruction } from './plane-site.ts';

/** Side of the squares in which ground is judged for shade first. [m] */
const COARSE = 1;
/** And of those where dark and light ground meet. [m] */
const FINE = 0.5;

/**
 * Ground of a plane that is given up for shade: squares whose solar access is below the share that the rules or the options
 * ask for. Judged in squares of a metre, and in halves of that along the rim of the shade. Nothing when none is asked for,
 * or when shade was not computed.
 */
export function shadedGroundFinder(options: FitOptions, scene: ShadeScene | null, year: SunYear | null): (site: PlaneSite) => Region {
  const least = leastAccess(options);
  if (least === 0 || !scene || !year) return () => [];
  return (site) => {
    const isDark = (centres: readonly Vector2[]): boolean[] => [...accessAt(site, scene, year, options.albedo, centres).yearly].map((access) => access < least);
    const coarse = squaresOn(site, COARSE);
    const dark = isDark(coarse.centres);
    const dim = new Map(coarse.numbers.map((number, i) => [number, dark[i]!]));
    const isMixed = (i: number): boolean => NEIGHBOURS.some(([right, up]) => (dim.get(coarse.numbers[i]! + right + up * ROW) ?? dark[i]!) !== dark[i]!);
    const mixed = coarse.centres.filter((_, i) => isMixed(i));
    const parts = mixed.flatMap(([u, v]) => QUARTERS.map(([right, up]): Vector2 => [u + right * FINE / 2, v + up * FINE / 2]));
    const darkParts = isDark(parts);
    const squares = [
      ...coarse.centres.flatMap((at, i) => (dark[i]! && !isMixed(i) ? [square(at, COARSE)] : [])),
      ...parts.flatMap((at, i) => (darkParts[i]! ? [square(at, FINE)] : [])),
    ];
    return squares.length === 0 ? [] : intersect(site.region, unite(squares));
  };
}

/** Share of the free sky's light below which ground is given up, by the options or a rule. */
function leastAccess({ leastAccess: least, rules }: FitOptions): number {
  return rules.rules.reduce((most, rule) => (rule.kind === 'plane-limit' ? Math.max(most, rule.leastSolarAccess ?? 0) : most), least);
}

/** Dark ground farther from a thing than so many times its height stays dark without it: it hides less than 14 degrees of the sky there. */
const DARKENS = 4;
/** The same of a thing of unknown height. [m] */
const DARKENS_UNKNOWN = 12;

/**
 * What of the ground given up for shade stays dark when a thing is gone; judged in the small squares.
 *
 * @param scene  Without the thing.
 * @param gone  Flat coordinates of the plane.
 */
export function groundStillDark(
  site: PlaneSite, shaded: Region, scene: ShadeScene, year: SunYear, options: FitOptions, gone: Pick<SiteObstruction, 'footprint' | 'heightAboveRoofM'>,
): Region {
  const corners = gone.footprint.flat();
  if (shaded.length === 0 || corners.length === 0) return shaded;
  const reach = isKnown(gone.heightAboveRoofM) ? DARKENS * gone.heightAboveRoofM.value + FINE : DARKENS_UNKNOWN;
  const isNear = ([u, v]: Vector2): boolean => corners.some((at) => Math.hypot(u - at[0], v - at[1]) < reach);
  const near = squaresWithin(site, corners, reach).filter((centre) => isNear(centre) && regionContains(shaded, centre));
  if (near.length === 0) return shaded;
  const least = leastAccess(options);
  const { yearly } = accessAt(site, scene, year, options.albedo, near);
  const light = near.filter((_, i) => yearly[i]! >= least);
  return light.length === 0 ? shaded : subtractRegion(shaded, unite(light.map((centre) => square(centre, FINE))));
}

/** Centres of the plane's small squares in a box so far about some places. */
function squaresWithin(site: PlaneSite, places: readonly Vector2[], reach: number): Vector2[] {
  const [u0, v0] = boxOf(site);
  const range = (axis: 0 | 1, start: number): [number, number] => {
    const along = places.map((at) => at[axis]);
    return [Math.floor((Math.min(...along) - reach - start) / FINE), Math.ceil((Math.max(...along) + reach - start) / FINE)];
  };
  const [[left, right], [low, high]] = [range(0, u0), range(1, v0)];
  const centres: Vector2[] = [];
  for (let row = low; row <= high; row++) for (let column = left; column <= right; column++) centres.push([u0 + (column + 0.5) * FINE, v0 + (row + 0.5) * FINE]);
  return centres;
}

/** Numbers of squares count along rows of this many. */
const ROW = 1 << 16;
const NEIGHBOURS = [[1, 0], [-1, 0], [0, 1], [0, -1]] as const;
const QUARTERS = [[-1, -1], [1, -1], [-1, 1], [1, 1]] as const;

/** Squares of an even grid that touch a plane with their centre, a corner or the middle of a side. */
function squaresOn(site: PlaneSite, side: number): { centres: Vector2[]; numbers: number[] } {
  const [u0, v0, u1, v1] = boxOf(site);
  const half = side / 2;
  const centres: Vector2[] = [];
  const numbers: number[] = [];
  for (let row = 0; v0 + row * side < v1; row++) {
    for (let column = 0; u0 + column * side < u1; column++) {
      const [u, v] = [u0 + (column + 0.5) * side, v0 + (row + 0.5) * side];
      const touches = [-1, 0, 1].some((right) => [-1, 0, 1].some((up) => regionContains(site.region, [u + right * half, v + up * half])));
      if (!touches) continue;
      centres.push([u, v]);
      numbers.push(row * ROW + column);
    }
  }
  return { centres, numbers };
}

const square = ([u, v]: Vector2, side: number): Ring => {
  const half = side / 2;
  return [[u - half, v - half], [u + half, v - half], [u + half, v + half], [u - half, v + half]];
};

function boxOf(site: PlaneSite): readonly [number, number, number, number] {
  let [u0, v0, u1, v1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [u, v] of site.region.flat()) {
    u0 = Math.min(u0, u);
    v0 = Math.min(v0, v);
    u1 = Math.max(u1, u);
    v1 = Math.max(v1, v);
  }
  return [u0, v0, u1, v1];
}

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
  const [u0, v0, u1, v1] = boxOf(site);
  const centres: Vector2[] = [];
  for (let v = v0 + step / 2; v < v1; v += step) {
    for (let u = u0 + step / 2; u < u1; u += step) if (regionContains(site.region, [u, v])) centres.push([u, v]);
  }
  const access = accessAt(site, scene, year, albedo, centres);
  return { centres, yearly: access.yearly, monthlyKwhM2: access.monthlyKwhM2, unshadedMonthlyKwhM2: access.unshadedMonthlyKwhM2[0]! };
}

function accessAt(site: PlaneSite, scene: ShadeScene, year: SunYear, albedo: number, centres: readonly Vector2[]) {
  const positions = new Float64Array(centres.length * 3);
  centres.forEach((at, i) => positions.set(fromPlaneCoordinates(site.frame, at), i * 3));
  return solarAccess(scene, { positions, orientation: new Uint16Array(centres.length), orientations: [site.frame.normal] }, year, { albedo });
}
