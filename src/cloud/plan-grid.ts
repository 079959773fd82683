import type { Vector3 } from '../geometry/vector.ts';
import type { CellGrid } from './cloud.ts';
import { log10, pow } from '../geometry/same-math.ts';

/** Middle of the wanted 50 000 to 200 000 points a cell: small enough for a worker's cache, large enough to be worth a message. */
const POINTS_PER_CELL = 80_000;
/** Larger squares hold too many voxels for one flat table; only sparse clouds reach it. [m] */
const LARGEST_CELL = 128;
/** A cloud of a few points still needs a square. [m] */
const SMALLEST_CELL = 1;
/** A stray point far away must not make the grid itself large. */
const MOST_CELLS = 1_000_000;

/**
 * Cuts the plan of a cloud into square cells.
 *
 * @param bounds  Of all points, local frame. [m]
 * @param pointCount  Of all points; with it the size of a cell is chosen as if they lay evenly.
 * @returns A grid that covers the bounds, both ends included; its lines stand on whole cell sizes, so that two
 *   surveys of one site with the same count share them.
 * @throws RangeError when the bounds are not finite.
 */
export function planGrid(bounds: { readonly min: Vector3; readonly max: Vector3 }, pointCount: number): CellGrid {
  const [x0, y0] = bounds.min;
  const [x1, y1] = bounds.max;
  if (![x0, y0, x1, y1].every(Number.isFinite) || x1 < x0 || y1 < y0) {
    throw new RangeError(`Expected finite bounds, got ${bounds.min} to ${bounds.max}.`);
  }
  const width = Math.max(x1 - x0, SMALLEST_CELL);
  const depth = Math.max(y1 - y0, SMALLEST_CELL);
  const even = Math.sqrt((width * depth * POINTS_PER_CELL) / Math.max(1, pointCount));
  const capped = Math.min(LARGEST_CELL, Math.max(SMALLEST_CELL, even));
  const bounded = Math.max(capped, Math.sqrt((width * depth) / MOST_CELLS), Math.max(width, depth) / MOST_CELLS);
  // Two significant digits: neither the noise of an outermost point nor the count of a re-export moves the grid lines.
  const step = pow(10, Math.floor(log10(bounded)) - 1);
  const cellSize = Math.ceil(bounded / step - 1e-9) * step;
  const left = Math.floor(x0 / cellSize);
  const bottom = Math.floor(y0 / cellSize);
  return {
    origin: [left * cellSize, bottom * cellSize],
    cellSize,
    columns: Math.floor(x1 / cellSize) - left + 1,
    rows: Math.floor(y1 / cellSize) - bottom + 1,
  };
}
