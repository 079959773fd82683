import { cos, sin } from '../../geometry/same-math.ts';
import { newRegion, refit, type Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { addMoments, type VoxelTable } from '../voxels/voxel-table.ts';

/** Directions a cut may run in, and places along each that are tried. */
const DIRECTIONS = 12;
const PLACES = 48;
const COSINES = Float64Array.from({ length: DIRECTIONS }, (_, turn) => cos((Math.PI * turn) / DIRECTIONS));
const SINES = Float64Array.from({ length: DIRECTIONS }, (_, turn) => sin((Math.PI * turn) / DIRECTIONS));
/** Voxels of a large facet are gathered into about so many squares. */
const SQUARES = 300;
/** Sums of a weighted fit of heights over plan: n, x, y, z, xx, xy, yy, xz, yz, zz. */
const SUMS = 10;
/** More squares than any facet has on a side. */
const SQUARE_KEYS = 1 << 20;

/** A straight cut of a facet into two, and the squared error it saves. [points × m²] */
export interface FacetCut {
  readonly gain: number;
  /** Squared error of the facet uncut. [points × m²] */
  readonly whole: number;
  readonly left: Region;
  readonly right: Region;
}

/**
 * The straight line that best cuts a facet into two planes: for each direction its squares are put in order across it, and
 * running sums give the squared error of both sides at every place.
 *
 * @param least  Voxels each side must have.
 * @returns null when no cut leaves enough on both sides.
 */
export function bestCut(table: VoxelTable, facet: Region, least: number): FacetCut | null {
  const { voxels } = facet;
  if (voxels.length < 2 * least) return null;
  const { sums, squareOf, sizes, at } = squaresOf(table, voxels);
  const count = sizes.length;
  const total = totalOf(sums, count);
  const running = new Float64Array(SUMS);
  const rest = new Float64Array(SUMS);
  const whole = squaredError(total);
  const step = Math.max(1, Math.floor(count / PLACES));
  let most = 0;
  let best: Uint32Array | null = null;
  for (let turn = 0; turn < DIRECTIONS; turn++) {
    const order = acrossDirection(at, COSINES[turn]!, SINES[turn]!);
    running.fill(0);
    let left = 0;
    let leftOfBest = 0;
    for (let i = 0; i + 1 < count; i++) {
      const square = order[i]!;
      for (let k = 0, o = SUMS * square; k < SUMS; k++) running[k]! += sums[o + k]!;
      left += sizes[square]!;
      if (left < least || voxels.length - left < least || i % step !== 0) continue;
      for (let k = 0; k < SUMS; k++) rest[k] = total[k]! - running[k]!;
      const gain = whole - squaredError(running) - squaredError(rest);
      if (gain <= most) continue;
      most = gain;
      leftOfBest = i + 1;
    }
    if (leftOfBest > 0) best = order.slice(0, leftOfBest);
  }
  if (!best) return null;
  const isLeft = new Uint8Array(count);
  for (let i = 0; i < best.length; i++) isLeft[best[i]!] = 1;
  return { gain: most * facet.c * facet.c, whole: whole * facet.c * facet.c, left: sideOf(table, facet, squareOf, isLeft, 1), right: sideOf(table, facet, squareOf, isLeft, 0) };
}

/** Squared error that the best plane leaves on the means of a facet's voxels. [points × m²] */
export function squaredErrorOf(table: VoxelTable, { voxels, c }: Region): number {
  const { sums, sizes } = squaresOf(table, voxels);
  return squaredError(totalOf(sums, sizes.length)) * c * c;
}

function sideOf(table: VoxelTable, { about, voxels }: Region, squareOf: Uint32Array, isLeft: Uint8Array, wanted: number): Region {
  const region = newRegion(about);
  for (let i = 0; i < voxels.length; i++) {
    if (isLeft[squareOf[i]!] !== wanted) continue;
    region.voxels.push(voxels[i]!);
    addMoments(table, voxels[i]!, about, region.moments);
  }
  refit(table, region);
  return region;
}

/** A facet's voxels gathered by plan squares: their sums about the first voxel, how many each holds, and where it lies. */
function squaresOf({ sums, means, size }: VoxelTable, voxels: readonly number[]): { sums: Float64Array; squareOf: Uint32Array; sizes: Uint32Array; at: Float64Array } {
  const side = Math.max(size, size * Math.sqrt(voxels.length / SQUARES));
  const x0 = means[3 * voxels[0]!]!;
  const y0 = means[3 * voxels[0]! + 1]!;
  const z0 = means[3 * voxels[0]! + 2]!;
  const numbers = new Map<number, number>();
  const squareOf = new Uint32Array(voxels.length);
  let last = NaN;
  let square = -1;
  for (let i = 0; i < voxels.length; i++) {
    const v = voxels[i]!;
    const key = Math.floor((means[3 * v]! - x0) / side) * SQUARE_KEYS + Math.floor((means[3 * v + 1]! - y0) / side);
    // Voxels side by side follow each other.
    if (key !== last) {
      last = key;
      square = numbers.get(key) ?? -1;
      if (square < 0) numbers.set(key, (square = numbers.size));
    }
    squareOf[i] = square;
  }
  const out = new Float64Array(SUMS * numbers.size);
  const sizes = new Uint32Array(numbers.size);
  for (let i = 0; i < voxels.length; i++) {
    const v = voxels[i]!;
    const n = sums[MOMENTS * v]!;
    const x = means[3 * v]! - x0;
    const y = means[3 * v + 1]! - y0;
    const z = means[3 * v + 2]! - z0;
    const o = SUMS * squareOf[i]!;
    out[o]! += n;
    out[o + 1]! += n * x;
    out[o + 2]! += n * y;
    out[o + 3]! += n * z;
    out[o + 4]! += n * x * x;
    out[o + 5]! += n * x * y;
    out[o + 6]! += n * y * y;
    out[o + 7]! += n * x * z;
    out[o + 8]! += n * y * z;
    out[o + 9]! += n * z * z;
    sizes[squareOf[i]!]!++;
  }
  const at = new Float64Array(2 * sizes.length);
  for (let k = 0; k < sizes.length; k++) {
    at[2 * k] = out[SUMS * k + 1]! / out[SUMS * k]!;
    at[2 * k + 1] = out[SUMS * k + 2]! / out[SUMS * k]!;
  }
  return { sums: out, squareOf, sizes, at };
}

function totalOf(sums: Float64Array, count: number): Float64Array {
  const total = new Float64Array(SUMS);
  for (let i = 0; i < count; i++) for (let k = 0; k < SUMS; k++) total[k]! += sums[SUMS * i + k]!;
  return total;
}

/** Squared error that the best plane leaves. */
function squaredError(s: Float64Array): number {
  const n = s[0]!;
  const x = s[1]!;
  const y = s[2]!;
  const z = s[3]!;
  const sxx = s[4]! - (x * x) / n;
  const sxy = s[5]! - (x * y) / n;
  const syy = s[6]! - (y * y) / n;
  const sxz = s[7]! - (x * z) / n;
  const syz = s[8]! - (y * z) / n;
  const szz = s[9]! - (z * z) / n;
  const det = sxx * syy - sxy * sxy;
  if (!(det > 1e-9 * sxx * syy)) return Math.max(0, szz);
  const a = (sxz * syy - syz * sxy) / det;
  const b = (syz * sxx - sxz * sxy) / det;
  return Math.max(0, szz - a * sxz - b * syz);
}

/** Places of squares in order across a direction; of two that lie equally far the first. */
function acrossDirection(at: Float64Array, c: number, s: number): Uint32Array {
  const count = at.length / 2;
  const across = new Float64Array(count);
  let order = new Uint32Array(count);
  for (let i = 0; i < count; i++) {
    across[i] = c * at[2 * i]! + s * at[2 * i + 1]!;
    order[i] = i;
  }
  let merged = new Uint32Array(count);
  for (let width = 1; width < count; width *= 2) {
    for (let begin = 0; begin < count; begin += 2 * width) mergeRuns(across, order, merged, begin, Math.min(begin + width, count), Math.min(begin + 2 * width, count));
    [order, merged] = [merged, order];
  }
  return order;
}

/** Merges two runs that are each in order and stand one after the other. A sort that asks a function for every two is ten times slower. */
function mergeRuns(across: Float64Array, from: Uint32Array, to: Uint32Array, begin: number, middle: number, end: number): void {
  let left = begin;
  let right = middle;
  for (let k = begin; k < end; k++) {
    if (left < middle && (right >= end || across[from[left]!]! <= across[from[right]!]!)) to[k] = from[left++]!;
    else to[k] = from[right++]!;
  }
}
