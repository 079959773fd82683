import { cos, sin } from '../../geometry/same-math.ts';
import type { Blocks } from './facet-blocks.ts';

/** Sums over squares: n, t, l, tt, tl, ll, h, th, lh; t across a direction, l along it, h above the plane of the blocks. */
export const SUMS = 9;

/** Squares of a surface by strips across a direction. */
export interface Strips {
  /** Number of the first strip: strip k begins at (first + k) × size across. */
  readonly first: number;
  readonly count: number;
  /** Entry k holds the strips before k. */
  readonly running: Float64Array;
}

/** The best plane of some squares: h = h0 + a (t - t0) + b (l - l0). */
export interface LocalPlane {
  readonly n: number;
  readonly t0: number;
  readonly l0: number;
  readonly h0: number;
  readonly a: number;
  readonly b: number;
  /** Second moments about the middle, and their determinant. */
  readonly tt: number;
  readonly tl: number;
  readonly ll: number;
  readonly det: number;
}

/** @param turn  From u to w. [rad] */
export function stripsAcross(blocks: Blocks, turn: number): Strips {
  const [c, s] = [cos(turn), sin(turn)];
  const bins = new Int32Array(blocks.count);
  let low = Infinity;
  let high = -Infinity;
  for (let b = 0; b < blocks.count; b++) {
    const bin = Math.floor((c * blocks.u[b]! + s * blocks.w[b]!) / blocks.size);
    bins[b] = bin;
    if (bin < low) low = bin;
    if (bin > high) high = bin;
  }
  const count = high - low + 1;
  const running = new Float64Array(SUMS * (count + 1));
  for (let b = 0; b < blocks.count; b++) addSquare(running, SUMS * (bins[b]! - low + 1), blocks, b, c, s);
  for (let k = SUMS; k < running.length; k++) running[k]! += running[k - SUMS]!;
  return { first: low, count, running };
}

/** Adds a square to the sums at `o`; the direction across by its cosine and sine. */
export function addSquare(sums: Float64Array, o: number, { u, w, h, points }: Blocks, b: number, c: number, s: number): void {
  const n = points[b]!;
  const t = c * u[b]! + s * w[b]!;
  const l = c * w[b]! - s * u[b]!;
  sums[o]! += n;
  sums[o + 1]! += n * t;
  sums[o + 2]! += n * l;
  sums[o + 3]! += n * t * t;
  sums[o + 4]! += n * t * l;
  sums[o + 5]! += n * l * l;
  sums[o + 6]! += n * h[b]!;
  sums[o + 7]! += n * t * h[b]!;
  sums[o + 8]! += n * l * h[b]!;
}

/** Sums of the strips from `from` up to, not with, `to`. */
export function sumsBetween({ running }: Strips, from: number, to: number): Float64Array {
  const out = new Float64Array(SUMS);
  for (let k = 0; k < SUMS; k++) out[k] = running[SUMS * to + k]! - running[SUMS * from + k]!;
  return out;
}

/** Null where the squares span no plane. */
export function planeOfSums(sums: Float64Array): LocalPlane | null {
  const n = sums[0]!;
  if (!(n > 0)) return null;
  const [t0, l0, h0] = [sums[1]! / n, sums[2]! / n, sums[6]! / n];
  const tt = sums[3]! - n * t0 * t0;
  const tl = sums[4]! - n * t0 * l0;
  const ll = sums[5]! - n * l0 * l0;
  const th = sums[7]! - n * t0 * h0;
  const lh = sums[8]! - n * l0 * h0;
  const det = tt * ll - tl * tl;
  if (!(det > 1e-9 * tt * ll)) return null;
  return { n, t0, l0, h0, tt, tl, ll, det, a: (ll * th - tl * lh) / det, b: (tt * lh - tl * th) / det };
}

export const heightAt = ({ t0, l0, h0, a, b }: LocalPlane, t: number, l: number): number => h0 + a * (t - t0) + b * (l - l0);

/** Variance of the height at a place, in parts of that of a point. */
export function spreadAt({ n, t0, l0, tt, tl, ll, det }: LocalPlane, t: number, l: number): number {
  const [dt, dl] = [t - t0, l - l0];
  return 1 / n + (dt * dt * ll - 2 * dt * dl * tl + dl * dl * tt) / det;
}
