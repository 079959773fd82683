import { isShared, roomFor } from '../../cloud/point-memory.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../geometry/fit-moments.ts';
import { MOMENTS } from './sum-voxels.ts';
import { addMoments, listNeighbours, neighboursOf, type VoxelTable } from './voxel-table.ts';
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

/** Voxels whose surroundings are pooled in one go. Plain data: it crosses threads that share memory. */
export interface PoolWork {
  readonly table: VoxelTable;
  /** 1 for voxels to leave out as centres; they still count as neighbours. */
  readonly skip: Uint8Array;
  /** As long as the table; those of the voxels from `from` up to `to` are written. */
  readonly pooled: PooledNormals;
  readonly from: number;
  readonly to: number;
}

/** Neighbours of the voxels of one piece of work. */
export interface PooledPart {
  /** How many each has; 0 for those left out. */
  readonly counts: Uint8Array;
  readonly list: Uint32Array;
}

/** Room for the surroundings of every voxel, in shared memory where the table stands in it. */
export function roomForNormals({ sums, count }: VoxelTable): PooledNormals {
  const shared = isShared(sums);
  return { normals: roomFor(Float64Array, 3 * count, shared), thickness: roomFor(Float64Array, count, shared), breadth: roomFor(Float32Array, count, shared) };
}

/** Pools the surroundings of every voxel, and leaves its neighbours in the table. @param skip  Voxels to leave out as centres; they still count as neighbours. */
export function poolNormals(table: VoxelTable, skip: Uint8Array): PooledNormals {
  const pooled = roomForNormals(table);
  listNeighbours(table, [poolPart({ table, skip, pooled, from: 0, to: table.count })]);
  return pooled;
}

/** Pools some of the voxels: writes into `pooled`, and lists their neighbours on the way. */
export function poolPart({ table, skip, pooled, from, to }: PoolWork): PooledPart {
  const { normals, thickness, breadth } = pooled;
  const moments = new Float64Array(MOMENTS);
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  const near = new Int32Array(26);
  const wider = new WiderSurroundings(table);
  const counts = new Uint8Array(to - from);
  let list = new Uint32Array(12 * (to - from) + 26);
  let listed = 0;
  for (let v = from; v < to; v++) {
    if (skip[v]) {
      thickness[v] = Infinity;
      continue;
    }
    const found = neighboursOf(table, v, near);
    if (listed + found > list.length) list = longer(list);
    counts[v - from] = found;
    moments.fill(0);
    addMoments(table, v, v, moments);
    for (let k = 0; k < found; k++) {
      list[listed++] = near[k]!;
      addMoments(table, near[k]!, v, moments);
    }
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
  return { counts, list: list.slice(0, listed) };
}

function longer(values: Uint32Array): Uint32Array<ArrayBuffer> {
  const copy = new Uint32Array(2 * values.length);
  copy.set(values);
  return copy;
}

/** The voxels up to two steps from one, each counted once. */
class WiderSurroundings {
  /** Made when it is first needed: few clouds have voxels that are so thin. */
  private stamp: Int32Array | null = null;
  private readonly beyond = new Int32Array(26);

  constructor(private readonly table: VoxelTable) {}

  /** Replaces the moments of one ring about `v` by those of two, where these hold enough points. */
  sumInto(v: number, near: Int32Array, found: number, moments: Float64Array): void {
    const { beyond, table } = this;
    const stamp = (this.stamp ??= new Int32Array(table.count).fill(-1));
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
