import type { Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

/**
 * Square patches of one smooth surface, each by the mean of its points: across (u, w) and above (h) one plane. In such
 * means the noise is small enough to see falls of one per cent.
 */
export interface Blocks {
  readonly count: number;
  /** Block of each voxel of the list they were cut from. */
  readonly blockOf: Int32Array;
  readonly u: Float64Array;
  readonly w: Float64Array;
  readonly h: Float64Array;
  readonly points: Float64Array;
  /** Eight blocks around each, -1 for none: west to east, south to north. */
  readonly around: Int32Array;
  /** Edge of a block along the surface. [m] */
  readonly size: number;
}

const AROUND = [[-1, -1], [0, -1], [1, -1], [-1, 0], [1, 0], [-1, 1], [0, 1], [1, 1]] as const;
const OFFSET = 2 ** 20;

/** Cuts the voxels of one smooth surface into blocks along its plane. */
export function cutIntoBlocks(table: VoxelTable, voxels: readonly number[], plane: Region, size: number): Blocks {
  const [[ux, uy, uz], [wx, wy, wz]] = axesAcross([plane.a, plane.b, plane.c]);
  const { a, b: pb, c, d } = plane;
  const { means, sums } = table;
  const places = new Map<number, number>();
  const keys: number[] = [];
  const blockOf = new Int32Array(voxels.length);
  let last = NaN;
  let block = -1;
  for (let i = 0; i < voxels.length; i++) {
    const o = 3 * voxels[i]!;
    const x = means[o]!;
    const y = means[o + 1]!;
    const z = means[o + 2]!;
    const column = Math.floor((x * ux + y * uy + z * uz) / size);
    const row = Math.floor((x * wx + y * wy + z * wz) / size);
    const key = (row + OFFSET) * 2 * OFFSET + column + OFFSET;
    // Voxels side by side follow each other.
    if (key !== last) {
      last = key;
      block = places.get(key) ?? -1;
      if (block < 0) {
        block = keys.length;
        places.set(key, block);
        keys.push(key);
      }
    }
    blockOf[i] = block;
  }
  const count = keys.length;
  const u = new Float64Array(count);
  const w = new Float64Array(count);
  const h = new Float64Array(count);
  const points = new Float64Array(count);
  for (let i = 0; i < voxels.length; i++) {
    const o = 3 * voxels[i]!;
    const x = means[o]!;
    const y = means[o + 1]!;
    const z = means[o + 2]!;
    const at = blockOf[i]!;
    const n = sums[MOMENTS * voxels[i]!]!;
    points[at]! += n;
    u[at]! += n * (x * ux + y * uy + z * uz);
    w[at]! += n * (x * wx + y * wy + z * wz);
    h[at]! += n * (a * x + pb * y + c * z + d);
  }
  const around = new Int32Array(8 * count);
  for (let k = 0; k < count; k++) {
    u[k]! /= points[k]!;
    w[k]! /= points[k]!;
    h[k]! /= points[k]!;
    for (let side = 0; side < 8; side++) around[8 * k + side] = places.get(keys[k]! + AROUND[side]![1] * 2 * OFFSET + AROUND[side]![0]) ?? -1;
  }
  return { count, blockOf, size, u, w, h, points, around };
}

/** Two unit vectors at right angles to a normal and to each other. */
function axesAcross([a, b, c]: readonly [number, number, number]): [[number, number, number], [number, number, number]] {
  const level = Math.hypot(a, b);
  const u: [number, number, number] = level > 1e-6 ? [-b / level, a / level, 0] : [1, 0, 0];
  return [u, [b * u[2] - c * u[1], c * u[0] - a * u[2], a * u[1] - b * u[0]]];
}

/** Sums for a plane h = p u + q w + c: n, Σu, Σw, Σh, Σuu, Σuw, Σww, Σuh, Σwh, Σhh, weighted by points. */
const SUMS = 10;

function addBlock(blocks: Blocks, b: number, into: Float64Array): void {
  const n = blocks.points[b]!;
  const u = blocks.u[b]! - blocks.u[0]!;
  const w = blocks.w[b]! - blocks.w[0]!;
  const h = blocks.h[b]!;
  into[0]! += n;
  into[1]! += n * u;
  into[2]! += n * w;
  into[3]! += n * h;
  into[4]! += n * u * u;
  into[5]! += n * u * w;
  into[6]! += n * w * w;
  into[7]! += n * u * h;
  into[8]! += n * w * h;
  into[9]! += n * h * h;
}

function blockSums(blocks: Blocks, b: number): Float64Array {
  const sums = new Float64Array(SUMS);
  addBlock(blocks, b, sums);
  return sums;
}

function add(into: Float64Array, from: Float64Array): void {
  for (let k = 0; k < SUMS; k++) into[k]! += from[k]!;
}

/** Sum of squared heights about the best plane, or about the best line or level where they do not span a plane. [m²] */
function squaredError(s: Float64Array): number {
  const w = 1 / s[0]!;
  const uu = s[4]! - s[1]! * s[1]! * w;
  const uw = s[5]! - s[1]! * s[2]! * w;
  const ww = s[6]! - s[2]! * s[2]! * w;
  const uh = s[7]! - s[1]! * s[3]! * w;
  const wh = s[8]! - s[2]! * s[3]! * w;
  const hh = s[9]! - s[3]! * s[3]! * w;
  const determinant = uu * ww - uw * uw;
  if (determinant > 1e-6 * (uu + ww) ** 2) {
    return Math.max(0, hh - (uh * uh * ww - 2 * uh * wh * uw + wh * wh * uu) / determinant);
  }
  // On a line: the slope along it.
  const along = uu >= ww ? uh * uh / Math.max(uu, 1e-12) : wh * wh / Math.max(ww, 1e-12);
  return Math.max(0, hh - along);
}

/**
 * Variance of a block mean times its points: the variance of a point's height times the square of the correlation
 * factor, measured on the surface at hand. Taken from the 3 × 3 blocks around each block, whose six spare numbers
 * know nothing of the falls; their median is not moved by the few windows that lie across a line.
 *
 * @returns Null when fewer than four windows are full.
 */
export function independentVariance(blocks: Blocks): number | null {
  const variances: number[] = [];
  const sums = new Float64Array(SUMS);
  for (let b = 0; b < blocks.count; b++) {
    let members = 1;
    sums.fill(0);
    addBlock(blocks, b, sums);
    for (let k = 0; k < 8; k++) {
      const other = blocks.around[8 * b + k]!;
      if (other < 0 || blocks.points[other]! < 0.5 * blocks.points[b]!) continue;
      addBlock(blocks, other, sums);
      members++;
    }
    if (members === 9) variances.push(squaredError(sums) / 6);
  }
  if (variances.length < 4) return null;
  return Float64Array.from(variances).sort()[variances.length >> 1]!;
}

/**
 * Joins blocks bottom-up (Ward 1963), always the two whose joining adds least squared error, as long as it adds
 * less than `mostOf` the points of the smaller one.
 *
 * @param mostOf  Squared error that joining two may add, by the number of points of the smaller. [m²]
 * @returns Group of each block, numbered from 0.
 */
export function joinBlocks(blocks: Blocks, mostOf: (points: number) => number): { groupOf: Int32Array; groups: number } {
  const { count, around } = blocks;
  const owner = Array.from({ length: count }, (_, b) => b);
  const sums: Float64Array[] = owner.map((b) => blockSums(blocks, b));
  const errors = new Float64Array(count);
  const neighbours: Set<number>[] = owner.map(() => new Set());
  const costs = new Map<number, number>();
  const both = new Float64Array(SUMS);
  const keyOf = (a: number, b: number): number => Math.min(a, b) * count + Math.max(a, b);
  const assess = (a: number, b: number): void => {
    both.set(sums[a]!);
    add(both, sums[b]!);
    const growth = squaredError(both) - errors[a]! - errors[b]!;
    if (growth < mostOf(Math.min(sums[a]![0]!, sums[b]![0]!))) costs.set(keyOf(a, b), growth);
    else costs.delete(keyOf(a, b));
  };
  for (let b = 0; b < count; b++) {
    for (const k of [4, 6]) {
      const other = around[8 * b + k]!;
      if (other < 0) continue;
      neighbours[b]!.add(other);
      neighbours[other]!.add(b);
      assess(b, other);
    }
  }
  for (;;) {
    let best = -1;
    let least = Infinity;
    for (const [key, growth] of costs) {
      if (growth > least || (growth === least && key > best)) continue;
      least = growth;
      best = key;
    }
    if (best < 0) break;
    const into = Math.floor(best / count);
    const gone = best % count;
    add(sums[into]!, sums[gone]!);
    errors[into] = squaredError(sums[into]!);
    owner[gone] = into;
    for (const other of neighbours[gone]!) {
      costs.delete(keyOf(gone, other));
      neighbours[other]!.delete(gone);
      if (other === into) continue;
      neighbours[other]!.add(into);
      neighbours[into]!.add(other);
    }
    for (const other of neighbours[into]!) assess(into, other);
  }
  return numbered(owner);
}

function numbered(owner: readonly number[]): { groupOf: Int32Array; groups: number } {
  const numberOf = new Map<number, number>();
  const groupOf = Int32Array.from(owner, (_, b) => {
    let root = b;
    while (owner[root] !== root) root = owner[root]!;
    if (!numberOf.has(root)) numberOf.set(root, numberOf.size);
    return numberOf.get(root)!;
  });
  return { groupOf, groups: numberOf.size };
}
