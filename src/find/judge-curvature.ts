import { solveLinear } from '../geometry/solve-linear.ts';
import { interiorOf } from './region-mask.ts';
import { residualOf, type Region } from './region.ts';
import { MOMENTS } from './sum-voxels.ts';
import type { VoxelTable } from './voxel-table.ts';

/** Terms of the surface fitted to the residuals: 1, u, w, uu, uw, ww. */
const TERMS = 6;
/** Root mean square that the bent part must take out of the residuals, in multiples of the noise. [-] */
const LEAST_BEND = 0.25;
/** Larger radii are sag, not shape. [m] */
const LARGEST_RADIUS = 50;
/** 99.9 % of F with 3 and many degrees of freedom, times four: neighbouring voxels share part of their error. */
const F_LIMIT = 4 * 5.42;

/**
 * Tells whether one flat plane describes a region: fits a quadratic surface to the residuals of its voxels and tests the
 * three bent terms (F test, voxels as observations so that neighbours' common errors count once per voxel).
 *
 * @param noise  Of the cloud, one sigma. [m]
 */
export function isCurved(table: VoxelTable, region: Region, noise: number): boolean {
  const interior = interiorOf(table, region);
  const used = region.voxels.filter((_, i) => interior[i]);
  if (used.length < 4 * TERMS) return false;
  const { means, sums } = table;
  const [cx, cy, cz] = [0, 1, 2].map((k) => used.reduce((sum, v) => sum + means[3 * v + k]!, 0) / used.length) as [number, number, number];
  const level = Math.hypot(region.a, region.b);
  const u = level > 1e-6 ? [-region.b / level, region.a / level, 0] : [1, 0, 0];
  const w = [region.b * u[2]! - region.c * u[1]!, region.c * u[0]! - region.a * u[2]!, region.a * u[1]! - region.b * u[0]!];
  const matrix = new Float64Array(TERMS * TERMS);
  const right = new Float64Array(TERMS);
  const terms = new Float64Array(TERMS);
  let total = 0;
  let squares = 0;
  for (const v of used) {
    const x = means[3 * v]! - cx;
    const y = means[3 * v + 1]! - cy;
    const z = means[3 * v + 2]! - cz;
    const p = x * u[0]! + y * u[1]! + z * u[2]!;
    const q = x * w[0]! + y * w[1]! + z * w[2]!;
    terms.set([1, p, q, p * p, p * q, q * q]);
    const residual = residualOf(table, region, v);
    const n = sums[MOMENTS * v]!;
    total += n;
    squares += n * residual * residual;
    for (let i = 0; i < TERMS; i++) {
      right[i]! += n * terms[i]! * residual;
      for (let j = 0; j < TERMS; j++) matrix[TERMS * i + j]! += n * terms[i]! * terms[j]!;
    }
  }
  const flat = solvePart(matrix, right, 3);
  const bent = solvePart(matrix, right, TERMS);
  if (!flat || !bent || radiusOf(bent) > LARGEST_RADIUS) return false;
  const taken = dotRight(bent, right);
  const gain = taken - dotRight(flat, right);
  const left = Math.max(squares - taken, 1e-12 * squares, Number.MIN_VALUE);
  const f = gain / 3 / (left / (used.length - TERMS));
  return f > F_LIMIT && Math.sqrt(Math.max(0, gain) / total) > LEAST_BEND * noise;
}

/** Best factors of the first `count` terms. */
function solvePart(matrix: Float64Array, right: Float64Array, count: number): Float64Array | null {
  const part = new Float64Array(count * count);
  for (let i = 0; i < count; i++) for (let j = 0; j < count; j++) part[count * i + j] = matrix[TERMS * i + j]!;
  return solveLinear(part, right.slice(0, count));
}

/** Squared residual that a solution takes up. */
const dotRight = (solution: Float64Array, right: Float64Array): number =>
  solution.reduce((sum, value, i) => sum + value * right[i]!, 0);

/** Smallest radius of curvature of a fitted surface. [m] */
function radiusOf(solution: Float64Array): number {
  const mean = solution[3]! + solution[5]!;
  const spread = Math.hypot(solution[3]! - solution[5]!, solution[4]!);
  return 1 / Math.max(Math.abs(mean + spread), Math.abs(mean - spread), 1e-12);
}
