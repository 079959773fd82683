import { fitMoments, MOMENT_FIT_SIZE } from '../geometry/fit-moments.ts';
import { MOMENTS } from './sum-voxels.ts';
import { addMoments, type VoxelTable } from './voxel-table.ts';

/** Square patches of one smooth surface, being joined bottom-up. */
export interface Blocks {
  /** Block of each voxel of the list they were cut from, -1 for too few points. */
  readonly blockOf: Int32Array;
  /** Moments of each block, about one voxel. */
  readonly moments: Float64Array[];
  /** Pairs of blocks side by side. */
  readonly edges: readonly (readonly [number, number])[];
}

/** Fewer points do not make a patch with a pitch of its own. */
const FEWEST_POINTS = 12;

/**
 * Cuts the voxels of one smooth surface into square blocks along two level-ish axes of its plane.
 *
 * @param about  Voxel from whose centre moments are counted.
 * @param normal  Of the surface as a whole.
 * @param blockSize  Edge of a block along the surface. [m]
 */
export function cutIntoBlocks(
  table: VoxelTable,
  voxels: readonly number[],
  about: number,
  normal: readonly [number, number, number],
  blockSize: number,
): Blocks {
  const [u, w] = axesAcross(normal);
  const { means } = table;
  const places = new Map<number, number>();
  const rows: number[] = [];
  const columns: number[] = [];
  const moments: Float64Array[] = [];
  const blockOf = new Int32Array(voxels.length);
  voxels.forEach((v, i) => {
    const x = means[3 * v]!;
    const y = means[3 * v + 1]!;
    const z = means[3 * v + 2]!;
    const column = Math.floor((x * u[0] + y * u[1] + z * u[2]) / blockSize);
    const row = Math.floor((x * w[0] + y * w[1] + z * w[2]) / blockSize);
    const key = (row + 2 ** 20) * 2 ** 22 + column + 2 ** 20;
    let block = places.get(key);
    if (block === undefined) {
      block = moments.length;
      places.set(key, block);
      rows.push(row);
      columns.push(column);
      moments.push(new Float64Array(MOMENTS));
    }
    blockOf[i] = block;
    addMoments(table, v, about, moments[block]!);
  });
  const sound = moments.map((m) => m[0]! >= FEWEST_POINTS);
  for (let i = 0; i < blockOf.length; i++) if (!sound[blockOf[i]!]) blockOf[i] = -1;
  const edges: [number, number][] = [];
  moments.forEach((_, block) => {
    if (!sound[block]) return;
    for (const [dy, dx] of [[0, 1], [1, 0], [1, 1], [1, -1]] as const) {
      const other = places.get((rows[block]! + dy + 2 ** 20) * 2 ** 22 + columns[block]! + dx + 2 ** 20);
      if (other !== undefined && sound[other]) edges.push([block, other]);
    }
  });
  return { blockOf, moments, edges };
}

/** Two unit vectors at right angles to a normal and to each other. */
function axesAcross([a, b, c]: readonly [number, number, number]): [[number, number, number], [number, number, number]] {
  const level = Math.hypot(a, b);
  const u: [number, number, number] = level > 1e-6 ? [-b / level, a / level, 0] : [1, 0, 0];
  return [u, [b * u[2] - c * u[1], c * u[0] - a * u[2], a * u[1] - b * u[0]]];
}

/** Sum of squared distances of the points from their own best plane. [m²] */
export function squaredError(moments: Float64Array): number {
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(moments, fit);
  return fit[3]! * moments[0]!;
}

/**
 * Joins blocks bottom-up, always the pair whose joining adds least squared error, while `mayJoin` allows it.
 *
 * @returns For each block the number of its group, from 0; -1 for blocks without edges of their own stays their own group.
 */
export function joinBlocks(
  { moments, edges }: Blocks,
  mayJoin: (growth: number, smallerCount: number) => boolean,
): { groupOf: Int32Array; groups: number } {
  const owner = moments.map((_, b) => b);
  const sums: (Float64Array | null)[] = moments.map((m) => m.slice());
  const errors = moments.map(squaredError);
  const neighbours: Set<number>[] = moments.map(() => new Set());
  const cost = new Map<number, number>();
  const total = moments.length;
  const both = new Float64Array(MOMENTS);
  const keyOf = (a: number, b: number): number => Math.min(a, b) * total + Math.max(a, b);
  const assess = (a: number, b: number): void => {
    const first = sums[a]!;
    const second = sums[b]!;
    for (let m = 0; m < MOMENTS; m++) both[m] = first[m]! + second[m]!;
    const growth = Math.max(0, squaredError(both) - errors[a]! - errors[b]!);
    if (mayJoin(growth, Math.min(first[0]!, second[0]!))) cost.set(keyOf(a, b), growth);
    else cost.delete(keyOf(a, b));
  };
  for (const [a, b] of edges) {
    neighbours[a]!.add(b);
    neighbours[b]!.add(a);
    assess(a, b);
  }
  for (;;) {
    let best = -1;
    let least = Infinity;
    for (const [key, growth] of cost) {
      if (growth < least || (growth === least && key < best)) {
        least = growth;
        best = key;
      }
    }
    if (best < 0) break;
    const into = Math.floor(best / total);
    const gone = best % total;
    for (let m = 0; m < MOMENTS; m++) sums[into]![m]! += sums[gone]![m]!;
    sums[gone] = null;
    owner[gone] = into;
    errors[into] = squaredError(sums[into]!);
    cost.delete(best);
    for (const other of neighbours[gone]!) {
      cost.delete(keyOf(gone, other));
      neighbours[other]!.delete(gone);
      if (other === into) continue;
      neighbours[other]!.add(into);
      neighbours[into]!.add(other);
    }
    for (const other of neighbours[into]!) assess(into, other);
  }
  const find = (b: number): number => {
    let root = b;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  const numberOf = new Map<number, number>();
  const groupOf = new Int32Array(total);
  for (let b = 0; b < total; b++) {
    const root = find(b);
    if (!numberOf.has(root)) numberOf.set(root, numberOf.size);
    groupOf[b] = numberOf.get(root)!;
  }
  return { groupOf, groups: numberOf.size };
}
