import type { Vector2 } from '../../geometry/vector.ts';
import { cellCentre, type RoofRaster } from './roof-raster.ts';

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
  for (let round = 0; round < ROUNDS && cells.length > 12; round++) {
    const residuals = Float64Array.from(given, (k) => cellResidual(raster, fit, k));
    const sorted = Float64Array.from(residuals).sort();
    const median = sorted[sorted.length >> 1]!;
    // Median of the distances below the median: the quarter point of all.
    const scale = 1.4826 * (median - sorted[sorted.length >> 2]!);
    if (!(scale > 0)) break;
    const kept = given.filter((_, i) => Math.abs(residuals[i]! - median) <= KEPT_SIGMAS * scale);
    if (kept.length < Math.max(6, 0.4 * given.length)) break;
    const same = kept.length === cells.length && kept.every((k, i) => k === cells[i]);
    cells = kept;
    if (same) break;
    fit = solve(raster, cells);
  }
  const notes = cells.length < 12 ? ['few points away from the rim'] : [];
  return { ...fit, cells, ...residualSquares(raster, fit, cells), notes };
}

const cellResidual = (raster: RoofRaster, fit: Solution, k: number): number => {
  const [x, y] = cellCentre(raster, k);
  return raster.sum[k]! / raster.count[k]! - fit.height - fit.slopeX * (x - fit.centroid[0]) - fit.slopeY * (y - fit.centroid[1]);
};

type Solution = Pick<CellFit, 'centroid' | 'height' | 'slopeX' | 'slopeY' | 'inverse'>;

function solve(raster: RoofRaster, cells: readonly number[]): Solution {
  let [n, sx, sy, sw] = [0, 0, 0, 0];
  for (const k of cells) {
    const [x, y] = cellCentre(raster, k);
    const m = raster.count[k]!;
    n += m;
    sx += m * x;
    sy += m * y;
    sw += raster.sum[k]!;
  }
  if (n === 0) return { centroid: [raster.origin[0], raster.origin[1]], height: 0, slopeX: 0, slopeY: 0, inverse: [1, 0, 0, 0, 1, 0, 0, 0, 1] };
  const centroid: Vector2 = [sx / n, sy / n];
  let [xx, xy, yy, xw, yw] = [0, 0, 0, 0, 0];
  for (const k of cells) {
    const [cx, cy] = cellCentre(raster, k);
    const [x, y] = [cx - centroid[0], cy - centroid[1]];
    const m = raster.count[k]!;
    // A cell's points spread over it: a square's own second moment is a twelfth of its area.
    const spread = (raster.step * raster.step) / 12;
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
  let [pointCount, squares] = [0, 0];
  for (const k of cells) {
    const [x, y] = cellCentre(raster, k);
    const model = fit.height + fit.slopeX * (x - fit.centroid[0]) + fit.slopeY * (y - fit.centroid[1]);
    pointCount += raster.count[k]!;
    squares += raster.squares[k]! - 2 * model * raster.sum[k]! + raster.count[k]! * model * model;
  }
  return { pointCount, squares: Math.max(0, squares) };
}
