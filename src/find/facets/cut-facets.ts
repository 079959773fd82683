import { cos, sin } from '../../geometry/same-math.ts';
import { newRegion, refit, type Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { addMoments, type VoxelTable } from '../voxels/voxel-table.ts';

/** Directions a cut may run in, and places along each that are tried. */
const DIRECTIONS = 12;
const PLACES = 48;
/** Voxels of a large facet are gathered into about so many squares. */
const SQUARES = 300;
/** Sums of a weighted fit of heights over plan: n, x, y, z, xx, xy, yy, xz, yz, zz. */
const SUMS = 10;
/** More squares than any facet has on a side. */
const SQUARE_KEYS = 1 << 20;

/** A straight cut of a facet into two, and the squared error it saves. [points × m²] */
export interface FacetCut {
  readonly gain: number;
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
  const total = totalOf(sums, sizes.length);
  const rest = new Float64Array(SUMS);
  const whole = squaredError(total);
  let best = { gain: 0, order: null as Uint32Array | null, count: 0 };
  for (let turn = 0; turn < DIRECTIONS; turn++) {
    const order = acrossDirection(at, (Math.PI * turn) / DIRECTIONS);
    const running = new Float64Array(SUMS);
    const step = Math.max(1, Math.floor(order.length / PLACES));
    let left = 0;
    for (let i = 0; i + 1 < order.length; i++) {
      for (let k = 0; k < SUMS; k++) running[k]! += sums[SUMS * order[i]! + k]!;
      left += sizes[order[i]!]!;
      if (left < least || voxels.length - left < least || i % step !== 0) continue;
      for (let k = 0; k < SUMS; k++) rest[k] = total[k]! - running[k]!;
      const gain = whole - squaredError(running) - squaredError(rest);
      if (gain > best.gain) best = { gain, order, count: i + 1 };
    }
  }
  if (!best.order) return null;
  const isLeft = new Uint8Array(sizes.length);
  for (const square of best.order.subarray(0, best.count)) isLeft[square] = 1;
  const side = (wanted: number): Region => regionOf(table, facet, voxels.filter((_, i) => isLeft[squareOf[i]!] === wanted));
  return { gain: best.gain * facet.c * facet.c, left: side(1), right: side(0) };
}

/** Squared error that the best plane leaves on the means of a facet's voxels. [points × m²] */
export function squaredErrorOf(table: VoxelTable, { voxels, c }: Region): number {
  const { sums, sizes } = squaresOf(table, voxels);
  return squaredError(totalOf(sums, sizes.length)) * c * c;
}

function regionOf(table: VoxelTable, { about }: Region, voxels: readonly number[]): Region {
  const region = newRegion(about);
  for (const v of voxels) {
    region.voxels.push(v);
    addMoments(table, v, about, region.moments);
  }
  refit(table, region);
  return region;
}

/** A facet's voxels gathered by plan squares: their sums about the first voxel, how many each holds, and where it lies. */
function squaresOf({ sums, means, size }: VoxelTable, voxels: readonly number[]): { sums: Float64Array; squareOf: Uint32Array; sizes: Uint32Array; at: Float64Array } {
  const side = Math.max(size, size * Math.sqrt(voxels.length / SQUARES));
  const [x0, y0, z0] = [0, 1, 2].map((axis) => means[3 * voxels[0]! + axis]!) as [number, number, number];
  const numbers = new Map<number, number>();
  const squareOf = new Uint32Array(voxels.length);
  voxels.forEach((v, i) => {
    const key = Math.floor((means[3 * v]! - x0) / side) * SQUARE_KEYS + Math.floor((means[3 * v + 1]! - y0) / side);
    let square = numbers.get(key);
    if (square === undefined) numbers.set(key, (square = numbers.size));
    squareOf[i] = square;
  });
  const out = new Float64Array(SUMS * numbers.size);
  const sizes = new Uint32Array(numbers.size);
  voxels.forEach((v, i) => {
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
  });
  const at = Float64Array.from({ length: 2 * numbers.size }, (_, i) => out[SUMS * (i >> 1) + 1 + (i & 1)]! / out[SUMS * (i >> 1)]!);
  return { sums: out, squareOf, sizes, at };
}

function totalOf(sums: Float64Array, count: number): Float64Array {
  const total = new Float64Array(SUMS);
  for (let i = 0; i < count; i++) for (let k = 0; k < SUMS; k++) total[k]! += sums[SUMS * i + k]!;
  return total;
}

/** Squared error that the best plane leaves. */
function squaredError(s: Float64Array): number {
  const [n, x, y, z] = [s[0]!, s[1]!, s[2]!, s[3]!];
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

function acrossDirection(at: Float64Array, angle: number): Uint32Array {
  const [c, s] = [cos(angle), sin(angle)];
  const across = new Float64Array(at.length / 2);
  for (let i = 0; i < across.length; i++) across[i] = c * at[2 * i]! + s * at[2 * i + 1]!;
  return Uint32Array.from(across, (_, i) => i).sort((a, b) => across[a]! - across[b]! || a - b);
}
