import { elevationAt } from '../measure/borders/intersections.ts';
import type { FaceFit } from '../measure/faces/fit-faces.ts';
import type { PointLookup } from '../measure/raster/point-lookup.ts';
import type { RoofRaster } from '../measure/raster/roof-raster.ts';
import { exp } from '../../geometry/same-math.ts';

/** Points that stand together above a face. */
export interface Cluster {
  readonly face: number;
  readonly at: [number, number];
  /** [m] */
  readonly width: number;
  readonly height: number;
  readonly count: number;
}

export interface ClusterInput {
  readonly raster: RoofRaster;
  readonly fits: readonly FaceFit[];
  readonly points: PointLookup;
  /** Non-zero where clusters may stand. */
  readonly free: Uint8Array;
}

/** Strays of the noise end, and trees begin, this far above a roof. [sigmas, m, m] */
const ABOVE_SIGMAS = 6;
const ABOVE = 0.1;
const HIGHEST = 2.5;
/** Expected clusters of mere strays on a whole face. */
const FALSE_CLUSTERS = 0.01;
/** A cluster wider than this is something else. [m] */
const WIDEST = 0.6;
const FEWEST = 4;
/** Points of a top share its height; so many of them at least. [m, sigmas, -] */
const TOP_BAND = 0.05;
const TOP_SIGMAS = 2.5;
const FEWEST_ON_TOP = 3;

interface Standing {
  readonly x: number;
  readonly y: number;
  readonly rise: number;
}

/**
 * Clusters denser than strays make by chance: strays are taken as spread evenly over the face (Poisson), and windows of
 * three cells a side as so many trials.
 */
export function findStandingClusters(input: ClusterInput): Cluster[] {
  const { raster, fits, free } = input;
  const { columns, face } = raster;
  const standing = standingPoints(input);
  const cells = fits.map(() => 0);
  const strays = fits.map(() => 0);
  for (let k = 0; k < face.length; k++) {
    if (!free[k]) continue;
    cells[face[k]! - 1]!++;
    // Clusters must not raise the rate they are tested by: a cell counts once.
    if (standing.has(k)) strays[face[k]! - 1]!++;
  }
  const least = fits.map((_, f) => leastCount((9 * (strays[f]! + 1)) / Math.max(1, cells[f]!), cells[f]!));
  const near = (k: number): number[] => [-columns, 0, columns].flatMap((d) => [k + d - 1, k + d, k + d + 1]);
  const starts = [...standing.keys()]
    .map((k) => ({ k, count: near(k).reduce((sum, n) => sum + (standing.get(n)?.length ?? 0), 0) }))
    .filter(({ k, count }) => count >= least[face[k]! - 1]!)
    .sort((a, b) => b.count - a.count || a.k - b.k);
  const taken = new Set<number>();
  const clusters: Cluster[] = [];
  for (const { k: start } of starts) {
    if (taken.has(start)) continue;
    const group = [start];
    taken.add(start);
    for (const k of group) {
      for (const n of near(k)) {
        if (taken.has(n) || !standing.has(n) || face[n] !== face[start]) continue;
        taken.add(n);
        group.push(n);
      }
    }
    const cluster = clusterOf(group.flatMap((k) => standing.get(k)!), face[start]!, fits[face[start]! - 1]!);
    if (cluster) clusters.push(cluster);
  }
  return clusters;
}

function standingPoints({ raster, fits, points, free }: ClusterInput): Map<number, Standing[]> {
  const standing = new Map<number, Standing[]>();
  for (let k = 0; k < free.length; k++) {
    if (!free[k] || raster.looseCount[k] === 0) continue;
    const fit = fits[raster.face[k]! - 1]!;
    const least = Math.max(ABOVE, ABOVE_SIGMAS * fit.noise);
    const list: Standing[] = [];
    points.each(k, (x, y, z, label) => {
      const rise = z - elevationAt(fit, [x, y]);
      if (label === 0 && rise > least && rise < HIGHEST) list.push({ x, y, rise });
    });
    if (list.length > 0) standing.set(k, list);
  }
  return standing;
}

/** Least count whose Poisson tail, over all trials, is expected fewer than FALSE_CLUSTERS times. */
function leastCount(mean: number, trials: number): number {
  let term = exp(-mean);
  let tail = 1 - term;
  let n = 1;
  while (tail * trials > FALSE_CLUSTERS && n < 1000) {
    term *= mean / n;
    tail -= term;
    n++;
  }
  return Math.max(FEWEST, n);
}

function clusterOf(members: readonly Standing[], face: number, fit: FaceFit): Cluster | null {
  const band = Math.max(TOP_BAND, TOP_SIGMAS * fit.noise);
  const rises = members.map(({ rise }) => rise).sort((a, b) => a - b);
  // The densest height, higher ones winning a near tie: walls lie below a top.
  let top = { height: 0, count: 0 };
  for (let i = 0, j = 0; i < rises.length; i++) {
    while (rises[i]! - rises[j]! > 2 * band) j++;
    if (i - j + 1 >= top.count) top = { height: rises[(i + j) >> 1]!, count: i - j + 1 };
  }
  if (top.count < FEWEST_ON_TOP) return null;
  const own = members.filter(({ rise }) => Math.abs(rise - top.height) <= band);
  const mean = (of: (p: Standing) => number): number => own.reduce((sum, p) => sum + of(p), 0) / own.length;
  const at: [number, number] = [mean((p) => p.x), mean((p) => p.y)];
  // A disc's positions scatter by a quarter of its diameter along each axis.
  const variance = own.reduce((sum, p) => sum + (p.x - at[0]) ** 2 + (p.y - at[1]) ** 2, 0) / (2 * Math.max(1, own.length - 1));
  const width = 4 * Math.sqrt(variance);
  return width > WIDEST ? null : { face, at, width, height: mean((p) => p.rise), count: own.length };
}
