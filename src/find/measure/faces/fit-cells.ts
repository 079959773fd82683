import { selectAt } from '../../../geometry/order-statistic.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';

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
export function fitCells(raster: RoofRaster, given: readonly number[]): CellFit {
  let cells = given;
  let fit = solve(raster, cells);
  const residuals = new Float64Array(given.length);
  const sorted = new Float64Array(given.length);
  for (let round = 0; round < ROUNDS && cells.length > 12; round++) {
    cellResiduals(raster, fit, given, residuals);
    sorted.set(residuals);
    const median = selectAt(sorted, sorted.length >> 1);
    // Median of the distances below the median: the quarter point of all.
    const scale = 1.4826 * (median - selectAt(sorted, sorted.length >> 2, 0, sorted.length >> 1));
    if (!(scale > 0)) break;
    const kept: number[] = [];
    for (let i = 0; i < given.length; i++) if (Math.abs(residuals[i]! - median) <= KEPT_SIGMAS * scale) kept.push(given[i]!);
    if (kept.length < Math.max(6, 0.4 * given.length)) break;
    const same = kept.length === cells.length && areEqual(kept, cells);
    cells = kept;
    if (same) break;
    fit = solve(raster, cells);
  }
  const notes = cells.length < 12 ? ['few points away from the rim'] : [];
  return { ...fit, cells, ...residualSquares(raster, fit, cells), notes };
}

function areEqual(a: readonly number[], b: readonly number[]): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

// These loops look at every cell of every face some thirty times, so they do not ask `cellCentre` for a pair each time.

function cellResiduals(raster: RoofRaster, fit: Solution, cells: readonly number[], into: Float64Array): void {
  const { columns, step, origin, sum, count } = raster;
  for (let i = 0; i < cells.length; i++) {
    const k = cells[i]!;
    const x = origin[0] + ((k % columns) + 0.5) * step;
    const y = origin[1] + (Math.floor(k / columns) + 0.5) * step;
    into[i] = sum[k]! / count[k]! - fit.height - fit.slopeX * (x - fit.centroid[0]) - fit.slopeY * (y - fit.centroid[1]);
  }
}

type Solution = Pick<CellFit, 'centroid' | 'height' | 'slopeX' | 'slopeY' | 'inverse'>;

function solve(raster: RoofRaster, cells: readonly number[]): Solution {
  const { columns, step, origin } = raster;
  let [n, sx, sy, sw] = [0, 0, 0, 0];
  for (const k of cells) {
    const x = origin[0] + ((k % columns) + 0.5) * step;
    const y = origin[1] + (Math.floor(k / columns) + 0.5) * step;
    const m = raster.count[k]!;
    n += m;
    sx += m * x;
    sy += m * y;
    sw += raster.sum[k]!;
  }
  if (n === 0) return { centroid: [raster.origin[0], raster.origin[1]], height: 0, slopeX: 0, slopeY: 0, inverse: [1, 0, 0, 0, 1, 0, 0, 0, 1] };
  const centroid: Vector2 = [sx / n, sy / n];
  // A cell's points spread over it: a square's own second moment is a twelfth of its area.
  const spread = (step * step) / 12;
  let [xx, xy, yy, xw, yw] = [0, 0, 0, 0, 0];
  for (const k of cells) {
    const x = origin[0] + ((k % columns) + 0.5) * step - centroid[0];
    const y = origin[1] + (Math.floor(k / columns) + 0.5) * step - centroid[1];
    const m = raster.count[k]!;
    xx += m * (x * x + spread);
    xy += m * x * y;
    yy += m * (y * y + spread);
    xw += x * raster.sum[k]!;
    yw += y * raster.sum[k]!;
  }
  const determinant = xx * yy - xy * xy;
  const [ixx, ixy, iyy] = [yy / determinant, -xy / determinant, xx / determinant];
  return {
    centroid,
    height: sw / n,
    slopeX: ixx * xw + ixy * yw,
    slopeY: ixy * xw + iyy * yw,
    inverse: [1 / n, 0, 0, 0, ixx, ixy, 0, ixy, iyy],
  };
}

function residualSquares(raster: RoofRaster, fit: Solution, cells: readonly number[]): { pointCount: number; squares: number } {
  const { columns, step, origin } = raster;
  let [pointCount, squares] = [0, 0];
  for (const k of cells) {
    const x = origin[0] + ((k % columns) + 0.5) * step;
    const y = origin[1] + (Math.floor(k / columns) + 0.5) * step;
    const model = fit.height + fit.slopeX * (x - fit.centroid[0]) + fit.slopeY * (y - fit.centroid[1]);
    pointCount += raster.count[k]!;
    squares += raster.squares[k]! - 2 * model * raster.sum[k]! + raster.count[k]! * model * model;
  }
  return { pointCount, squares: Math.max(0, squares) };
}
