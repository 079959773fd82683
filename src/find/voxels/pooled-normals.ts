import { isShared, roomFor } from '../../cloud/point-memory.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../geometry/fit-moments.ts';
import { MOMENTS } from './sum-voxels.ts';
import { addMoments, neighboursOf, type VoxelTable } from './voxel-table.ts';
import { log, pow } from '../../geometry/same-math.ts';

/** What the 3 × 3 × 3 voxels around each voxel say together. */
export interface PooledNormals {
  /** Unit, z >= 0, `n × 3`. */
  readonly normals: Float64Array;
  /** Variance of the points along the normal, corrected for the three parameters fitted; Infinity below 6 points. [m²] */
  readonly thickness: Float64Array;
  /** Middle over largest variance: near 0 on a line, 1 on an even patch. */
  readonly breadth: Float32Array;
}

/** Fewer points leave no spare ones to judge a plane by. */
const FEWEST_POINTS = 6;
/** Where the cloud is thin (dark, steep or shadowed roofs) two rings of voxels are asked instead of one; a plant then needs more to pass for a plane. */
const FEWEST_POINTS_WIDE = 8;

/** @param skip  Voxels to leave out as centres; they still count as neighbours. */
export function poolNormals(table: VoxelTable, skip: Uint8Array): PooledNormals {
  const { count } = table;
  const shared = isShared(table.sums);
  const normals = roomFor(Float64Array, 3 * count, shared);
  const thickness = roomFor(Float64Array, count, shared);
  const breadth = new Float32Array(count);
  const moments = new Float64Array(MOMENTS);
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  const near = new Int32Array(26);
  const wider = new WiderSurroundings(table);
  for (let v = 0; v < count; v++) {
    if (skip[v]) {
      thickness[v] = Infinity;
      continue;
    }
    moments.fill(0);
    addMoments(table, v, v, moments);
    const found = neighboursOf(table, v, near);
    for (let k = 0; k < found; k++) addMoments(table, near[k]!, v, moments);
    if (moments[0]! < FEWEST_POINTS && found > 1) wider.sumInto(v, near, found, moments);
    const points = moments[0]!;
    if (points < FEWEST_POINTS) {
      thickness[v] = Infinity;
      normals[3 * v + 2] = 1;
      continue;
    }
    fitMoments(moments, fit);
    normals[3 * v] = fit[0]!;
    normals[3 * v + 1] = fit[1]!;
    normals[3 * v + 2] = fit[2]!;
    thickness[v] = (fit[3]! * points) / (points - 3);
    breadth[v] = fit[4]! / Math.max(fit[5]!, 1e-30);
  }
  return { normals, thickness, breadth };
}

/** The voxels up to two steps from one, each counted once. */
class WiderSurroundings {
  private readonly stamp: Int32Array;
  private readonly beyond = new Int32Array(26);

  constructor(private readonly table: VoxelTable) {
    this.stamp = new Int32Array(table.count).fill(-1);
  }

  /** Replaces the moments of one ring about `v` by those of two, where these hold enough points. */
  sumInto(v: number, near: Int32Array, found: number, moments: Float64Array): void {
    const { stamp, beyond, table } = this;
    const sums = moments.slice();
    stamp[v] = v;
    for (let k = 0; k < found; k++) stamp[near[k]!] = v;
    for (let k = 0; k < found; k++) {
      const farther = neighboursOf(table, near[k]!, beyond);
      for (let i = 0; i < farther; i++) {
        const u = beyond[i]!;
        if (stamp[u] === v) continue;
        stamp[u] = v;
        addMoments(table, u, v, sums);
      }
    }
    if (sums[0]! >= FEWEST_POINTS_WIDE) moments.set(sums);
  }
}

/**
 * Noise of the cloud: the point-weighted median thickness of the voxels whose surroundings are an even patch.
 * Corners and plants are thicker and fall into the upper half; that the lower half decides keeps them out.
 *
 * @returns One sigma. [m]
 */
export function estimateNoise(table: VoxelTable, pooled: PooledNormals): number {
  const { thickness, breadth } = pooled;
  // Logarithmic bins of 5 %, from 0.1 mm up: a histogram needs no sort and no sampling.
  const bins = new Float64Array(256);
  let total = 0;
  for (let v = 0; v < table.count; v++) {
    if (!(breadth[v]! > 0.2) || thickness[v]! === Infinity) continue;
    const sigma = Math.sqrt(thickness[v]!);
    if (sigma > table.size / 4) continue;
    const bin = Math.min(255, Math.max(0, Math.floor(log(sigma / 1e-4) / log(1.05))));
    const weight = table.sums[MOMENTS * v]!;
    bins[bin]! += weight;
    total += weight;
  }
  let left = 0.4 * total;
  for (let bin = 0; bin < 256; bin++) {
    left -= bins[bin]!;
    if (left <= 0 && total > 0) return 1e-4 * pow(1.05, bin + 0.5);
  }
  return table.size / 20;
}
