import { selectAt } from '../../../geometry/order-statistic.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { RasterFrame } from '../raster/roof-raster.ts';

/** What faces are fitted to: sums of points by raster cell. */
export interface FitSums extends RasterFrame {
  readonly count: Uint16Array;
  /** Of distances above the segment's plane along its normal, and of their squares. [m, m²] */
  readonly sum: Float32Array;
  readonly squares: Float32Array;
  /** Where the mean of a cell's points lies from its middle, x and y; absent where all lie in the middle. [m] */
  readonly offsetX?: Float32Array;
  readonly offsetY?: Float32Array;
}

/** Correction of a segment's plane: distance along its normal as a linear function of plan position. */
export interface CellFit {
  readonly centroid: Vector2;
  /** At the centroid. [m] */
  readonly height: number;
  readonly slopeX: number;
  readonly slopeY: number;
  /** Cells kept by the last round. */
  readonly cells: readonly number[];
  readonly pointCount: number;
  /** Sum of squared point residuals. [m²] */
  readonly squares: number;
  /** Inverse of the normal matrix over points, 3 × 3 row by row. */
  readonly inverse: readonly number[];
  readonly notes: readonly string[];
}

const ROUNDS = 4;
/** Cells farther than this many robust sigmas from the fit are clutter. */
const KEPT_SIGMAS = 3;

/**
 * Least squares over cell means, weighted by their counts; clutter cut by the scale of the lower half of the residuals,
 * since what stands on a roof is above it (methods A.6: 0.011° against 0.025° for a symmetric scale).
 */
export function fitCells(sums: FitSums, given: readonly number[]): CellFit {
  const means = meansOf(sums, given);
  const all = Int32Array.from(given, (_, i) => i);
  let kept = all;
  let fit = solve(means, kept, sums);
  const residuals = new Float64Array(given.length);
  const sorted = new Float64Array(given.length);
  const next = new Int32Array(given.length);
  for (let round = 0; round < ROUNDS && kept.length > 12; round++) {
    meanResiduals(means, fit, residuals);
    sorted.set(residuals);
    const median = selectAt(sorted, sorted.length >> 1);
    // Median of the distances below the median: the quarter point of all.
    const scale = 1.4826 * (median - selectAt(sorted, sorted.length >> 2, 0, sorted.length >> 1));
    if (!(scale > 0)) break;
    let count = 0;
    for (let i = 0; i < residuals.length; i++) if (Math.abs(residuals[i]! - median) <= KEPT_SIGMAS * scale) next[count++] = i;
    if (count < Math.max(6, 0.4 * given.length)) break;
    const same = count === kept.length && startsAlike(next, kept);
    kept = next.slice(0, count);
    if (same) break;
    fit = solve(means, kept, sums);
  }
  const cells = kept.length === given.length ? given : Array.from(kept, (i) => given[i]!);
  const notes = cells.length < 12 ? ['few points away from the rim'] : [];
  return { ...fit, cells, ...residualSquares(sums, means, fit, kept, cells), notes };
}

function startsAlike(long: Int32Array, short: Int32Array): boolean {
  for (let i = 0; i < short.length; i++) if (long[i] !== short[i]) return false;
  return true;
}

/** Cells of a face as single observations, in the order given. */
interface CellMeans {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly count: Float64Array;
  readonly sum: Float64Array;
}

// These loops look at every cell of every face some thirty times, so they do not ask `cellCentre` for a pair each time.

function meansOf({ columns, step, origin, count, sum, offsetX, offsetY }: FitSums, cells: readonly number[]): CellMeans {
  const length = cells.length;
  const means = { x: new Float64Array(length), y: new Float64Array(length), count: new Float64Array(length), sum: new Float64Array(length) };
  for (let i = 0; i < length; i++) {
    const k = cells[i]!;
    means.x[i] = origin[0] + ((k % columns) + 0.5) * step;
    means.y[i] = origin[1] + (Math.floor(k / columns) + 0.5) * step;
    means.count[i] = count[k]!;
    means.sum[i] = sum[k]!;
  }
  if (offsetX && offsetY) {
    for (let i = 0; i < length; i++) {
      means.x[i]! += offsetX[cells[i]!]!;
      means.y[i]! += offsetY[cells[i]!]!;
    }
  }
  return means;
}

function meanResiduals({ x, y, count, sum }: CellMeans, { height, slopeX, slopeY, centroid }: Solution, into: Float64Array): void {
  const [cx, cy] = centroid;
  for (let i = 0; i < into.length; i++) into[i] = sum[i]! / count[i]! - height - slopeX * (x[i]! - cx) - slopeY * (y[i]! - cy);
}

type Solution = Pick<CellFit, 'centroid' | 'height' | 'slopeX' | 'slopeY' | 'inverse'>;

function solve({ x, y, count, sum }: CellMeans, kept: Int32Array, { step, origin }: RasterFrame): Solution {
  let n = 0;
  let sx = 0;
  let sy = 0;
  let sw = 0;
  for (let j = 0; j < kept.length; j++) {
    const i = kept[j]!;
    const m = count[i]!;
    n += m;
    sx += m * x[i]!;
    sy += m * y[i]!;
    sw += sum[i]!;
  }
  if (n === 0) return { centroid: [origin[0], origin[1]], height: 0, slopeX: 0, slopeY: 0, inverse: [1, 0, 0, 0, 1, 0, 0, 0, 1] };
  const cx = sx / n;
  const cy = sy / n;
  // A cell's points spread over it: a square's own second moment is a twelfth of its area.
  const spread = (step * step) / 12;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  let xw = 0;
  let yw = 0;
  for (let j = 0; j < kept.length; j++) {
    const i = kept[j]!;
    const dx = x[i]! - cx;
    const dy = y[i]! - cy;
    const m = count[i]!;
    const w = sum[i]!;
    xx += m * (dx * dx + spread);
    xy += m * dx * dy;
    yy += m * (dy * dy + spread);
    xw += dx * w;
    yw += dy * w;
  }
  const determinant = xx * yy - xy * xy;
  const [ixx, ixy, iyy] = [yy / determinant, -xy / determinant, xx / determinant];
  return {
    centroid: [cx, cy],
    height: sw / n,
    slopeX: ixx * xw + ixy * yw,
    slopeY: ixy * xw + iyy * yw,
    inverse: [1 / n, 0, 0, 0, ixx, ixy, 0, ixy, iyy],
  };
}

function residualSquares({ squares: squaresOf }: FitSums, { x, y, count, sum }: CellMeans, fit: Solution, kept: Int32Array, cells: readonly number[]): { pointCount: number; squares: number } {
  const [cx, cy] = fit.centroid;
  let pointCount = 0;
  let squares = 0;
  for (let j = 0; j < kept.length; j++) {
    const i = kept[j]!;
    const model = fit.height + fit.slopeX * (x[i]! - cx) + fit.slopeY * (y[i]! - cy);
    pointCount += count[i]!;
    squares += squaresOf[cells[j]!]! - 2 * model * sum[i]! + count[i]! * model * model;
  }
  return { pointCount, squares: Math.max(0, squares) };
}
