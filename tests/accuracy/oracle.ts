import { upperTail } from '../../sample-data/generator/random.ts';
import type { Truth, TruthPlane } from '../../src/survey/score/truth.ts';

/** Weights of a slope are laid out on cells of this size, or on this many a side where that is coarser. [m] */
const CELL = 0.15;
const CELLS_A_SIDE = 40;
/**
 * Noise that correlates over fewer cells than this enters by its integral; near the rim that counts noise from outside too,
 * which is a tenth of the width where the length is a twentieth of the plane, and less below.
 */
const LEAST_CELLS = 1.2;
const SIGMAS_95 = 1.959964;

/**
 * The 95 % half width of the pitch that least squares would have if it knew which points lie on the plane and how their
 * noise correlates: the floor that no honest interval from the same points can undercut.
 *
 * The slope of the residual along the fall is a weighted sum over the plane; its variance is the double sum of the weights
 * with the covariance of the noise. Noise that is white, or correlates over less than a cell, enters by its integral
 * (sigma² times pi length² over area), the rest by its covariance between cells.
 *
 * @returns [deg]
 */
export function oraclePitchU95(plane: TruthPlane, truth: Truth): number {
  const cells = cellsOf(plane);
  const mean = [0, 1].map((k) => cells.points.reduce((sum, p) => sum + p[k]!, 0) / cells.points.length);
  // Regression on [u, v]: weight of a cell for the slope along v, with u taken out.
  let uu = 0;
  let uv = 0;
  let vv = 0;
  for (const p of cells.points) {
    const u = p[0]! - mean[0]!;
    const v = p[1]! - mean[1]!;
    uu += u * u;
    uv += u * v;
    vv += v * v;
  }
  const det = uu * vv - uv * uv;
  const weights = cells.points.map((p) => (uu * (p[1]! - mean[1]!) - uv * (p[0]! - mean[0]!)) / det);
  const squares = weights.reduce((sum, w) => sum + w * w, 0);
  const density = (0.22 + 0.78 * plane.normal[2]) / truth.sampling.spacingM ** 2;
  let variance = (truth.sampling.whiteSigmaM ** 2 / (density * cells.area)) * squares;
  for (const { sigmaM, lengthM } of truth.sampling.correlated) {
    if (lengthM < LEAST_CELLS * Math.sqrt(cells.area)) variance += ((sigmaM ** 2 * Math.PI * lengthM ** 2) / (plane.normal[2] * cells.area)) * squares;
    else variance += sigmaM ** 2 * quadraticForm(cells.points, weights, lengthM, plane.normal[2]);
  }
  return (SIGMAS_95 * Math.sqrt(variance) * 180) / Math.PI;
}

/**
 * The size of error that 95 % of the oracle's errors stay below, over planes with different half widths: the share inside x is
 * the mean of each plane's normal share.
 *
 * @returns The unit of the half widths; null without planes.
 */
export function oracleErrorAt95(halfWidths: readonly number[]): number | null {
  if (halfWidths.length === 0) return null;
  let low = 0;
  let high = 3 * Math.max(...halfWidths);
  for (let step = 0; step < 60; step++) {
    const x = (low + high) / 2;
    const inside = halfWidths.reduce((sum, u) => sum + 1 - 2 * upperTail((x / u) * SIGMAS_95), 0) / halfWidths.length;
    if (inside < 0.95) low = x;
    else high = x;
  }
  return (low + high) / 2;
}

/** Lengths of the noise are plan lengths: distances up the slope shrink by the cosine of the pitch. */
function quadraticForm(points: readonly number[][], weights: readonly number[], length: number, cosine: number): number {
  let sum = 0;
  for (let i = 0; i < points.length; i++) {
    for (let j = 0; j < points.length; j++) {
      const square = (points[i]![0]! - points[j]![0]!) ** 2 + (cosine * (points[i]![1]! - points[j]![1]!)) ** 2;
      sum += weights[i]! * weights[j]! * Math.exp(-square / length ** 2);
    }
  }
  return sum;
}

/** Middles of square cells of the plane, in its own axes: u level, v up the slope. */
function cellsOf(plane: TruthPlane): { points: number[][]; area: number } {
  const [nx, ny, nz] = plane.normal;
  const flat = Math.hypot(nx, ny);
  const u = flat < 1e-9 ? [1, 0, 0] : [-ny / flat, nx / flat, 0];
  const v = [ny * u[2]! - nz * u[1]!, nz * u[0]! - nx * u[2]!, nx * u[1]! - ny * u[0]!];
  const origin = plane.ring[0]!;
  const rings = [plane.ring, ...plane.holes].map((ring) => ring.map((p) => [u, v].map((axis) => axis.reduce((sum, a, k) => sum + a * (p[k]! - origin[k]!), 0))));
  const us = rings[0]!.map((p) => p[0]!);
  const vs = rings[0]!.map((p) => p[1]!);
  const side = Math.sqrt(plane.slopeAreaM2);
  const size = Math.min(side / 12, Math.max(CELL, side / CELLS_A_SIDE));
  const points: number[][] = [];
  for (let y = Math.min(...vs) + size / 2; y < Math.max(...vs); y += size) {
    for (let x = Math.min(...us) + size / 2; x < Math.max(...us); x += size) {
      let inside = false;
      for (const ring of rings) ring.forEach((a, i) => {
        const b = ring[(i + 1) % ring.length]!;
        if (a[1]! > y !== b[1]! > y && x < ((b[0]! - a[0]!) * (y - a[1]!)) / (b[1]! - a[1]!) + a[0]!) inside = !inside;
      });
      if (inside) points.push([x, y]);
    }
  }
  return { points, area: size * size };
}
