import type { PooledNormals } from '../voxels/pooled-normals.ts';
import { newRegion, refit, resetRegion, residualOf, type Region } from './region.ts';
import { addMoments, keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';
import { atan, cos } from '../../geometry/same-math.ts';

export interface GrowTolerances {
  /** Noise of the cloud, one sigma. [m] */
  readonly noise: number;
  /** Fewest voxels a region keeps; a smaller one is given up and its voxels are left to be absorbed. */
  readonly fewestVoxels: number;
}

export interface Grown {
  readonly regions: Region[];
  /** Region of each voxel, -1 for none. */
  readonly regionOf: Int32Array;
}

/** Multiples of the local noise a voxel's mean may lie off the plane: 3 sigma of a single point, which also allows for
 * the part of the noise that neighbours share and a mean does not average away. */
const DISTANCE_SIGMAS = 3;

/**
 * Grows planes over voxels, from the thinnest seed up. A voxel joins when the mean of its points lies on the plane and
 * its surroundings face the same way; the plane is refitted from sums at 8, 16, 32 … voxels.
 *
 * A tolerance that is too small leaves a plane in pieces, which merging repairs; one that is too large runs over
 * a shallow valley, which the facet stage repairs at more cost.
 */
export function growRegions(table: VoxelTable, pooled: PooledNormals, tolerances: GrowTolerances): Grown {
  const { count } = table;
  const regionOf = new Int32Array(count).fill(-1);
  const tried = new Uint8Array(count);
  const regions: Region[] = [];
  const { first, list } = keptNeighbours(table);
  const { thickness } = pooled;
  // Most seeds come to nothing: their region is used again.
  let region = newRegion(0);
  const { noise, fewestVoxels } = tolerances;
  const thickest = Math.max(noise * 4, 0.1 * table.size) ** 2;
  const angle = Math.min(0.4, 0.14 + 2.5 * atan(noise / table.size));
  const leastCosine = cos(angle);
  for (const seed of seedsByThickness(pooled, thickest)) {
    if (regionOf[seed]! >= 0 || tried[seed]) continue;
    resetRegion(region, seed);
    const id = regions.length;
    region.a = pooled.normals[3 * seed]!;
    region.b = pooled.normals[3 * seed + 1]!;
    region.c = pooled.normals[3 * seed + 2]!;
    region.d = -(
      region.a * table.means[3 * seed]! +
      region.b * table.means[3 * seed + 1]! +
      region.c * table.means[3 * seed + 2]!
    );
    const local = Math.max(noise, Math.min(2 * noise, Math.sqrt(pooled.thickness[seed]!)));
    const tolerance = Math.max(DISTANCE_SIGMAS * local, 0.04 * table.size);
    regionOf[seed] = id;
    const queue = region.voxels;
    queue.push(seed);
    let next = 8;
    for (let pass = 0; pass < 2; pass++) {
      for (let at = 0; at < queue.length; at++) {
        const v = queue[at]!;
        if (pass === 0) addMoments(table, v, seed, region.moments);
        if (pass === 0 && at + 1 === next) {
          next *= 2;
          refit(table, region);
        }
        for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
          const u = list[k]!;
          if (regionOf[u]! >= 0 || thickness[u] === Infinity || Math.abs(residualOf(table, region, u)) > tolerance) continue;
          if (facing(region, pooled, u) < leastCosine) continue;
          regionOf[u] = id;
          queue.push(u);
        }
      }
      if (queue.length < 3) break;
      settle(table, region, regionOf, tolerance);
    }
    if (region.voxels.length >= fewestVoxels && region.moments[0]! >= 8) {
      regions.push(region);
      region = newRegion(0);
    } else {
      for (const v of region.voxels) {
        regionOf[v] = -1;
        tried[v] = 1;
      }
    }
  }
  return { regions, regionOf };
}

const facing = (region: Region, pooled: PooledNormals, v: number): number =>
  Math.abs(
    region.a * pooled.normals[3 * v]! + region.b * pooled.normals[3 * v + 1]! + region.c * pooled.normals[3 * v + 2]!,
  );

/** Refits from all members, and lets go of those that an unripe plane had taken in. */
function settle(table: VoxelTable, region: Region, regionOf: Int32Array, tolerance: number): void {
  sumMembers(table, region);
  refit(table, region);
  let kept = 0;
  const { voxels } = region;
  for (const v of voxels) {
    if (Math.abs(residualOf(table, region, v)) > tolerance) regionOf[v] = -1;
    else voxels[kept++] = v;
  }
  if (kept === voxels.length) return;
  voxels.length = kept;
  if (kept < 3) return;
  sumMembers(table, region);
  refit(table, region);
}

/** Sums the moments of all members of a region anew. */
export function sumMembers(table: VoxelTable, region: Region): void {
  region.moments.fill(0);
  const { voxels, about, moments } = region;
  for (let k = 0; k < voxels.length; k++) addMoments(table, voxels[k]!, about, moments);
}

/** Voxels thin enough to start from, thinnest first; ties in voxel order. */
function seedsByThickness(pooled: PooledNormals, thickest: number): Uint32Array {
  const { thickness, breadth } = pooled;
  const levels = 4096;
  const starts = new Uint32Array(levels + 1);
  const levelOf = (v: number): number => {
    const t = thickness[v]!;
    if (!(t <= thickest) || breadth[v]! < 0.1) return -1;
    return Math.min(levels - 1, Math.floor((Math.sqrt(t / thickest)) * levels));
  };
  for (let v = 0; v < thickness.length; v++) {
    const level = levelOf(v);
    if (level >= 0) starts[level + 1]!++;
  }
  for (let k = 0; k < levels; k++) starts[k + 1]! += starts[k]!;
  const seeds = new Uint32Array(starts[levels]!);
  for (let v = 0; v < thickness.length; v++) {
    const level = levelOf(v);
    if (level >= 0) seeds[starts[level]!++] = v;
  }
  return seeds;
}
