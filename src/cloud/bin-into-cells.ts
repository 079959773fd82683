import type { CellGrid, PointAttributes } from './cloud.ts';

/** Points in the local frame, as they come from a file. */
export interface LocalPoints extends PointAttributes {
  readonly pointCount: number;
  /** x, y, z, `n × 3`, local frame. [m] */
  readonly positions: Float64Array;
}

/** Some of the points of one cell, in no particular order. Plain data: it crosses threads. */
export interface CellFragment extends PointAttributes {
  readonly column: number;
  readonly row: number;
  readonly pointCount: number;
  /** x, y from the cell's lower left corner, z from the local frame's zero, `n × 3`. [m] */
  readonly positions: Float32Array;
}

/** Lower left corner of a cell, local frame. [m] */
export const cellCorner = (grid: CellGrid, column: number, row: number): [number, number] => [
  grid.origin[0] + column * grid.cellSize,
  grid.origin[1] + row * grid.cellSize,
];

/**
 * Sorts points into the cells of a grid (counting sort, linear time). A point outside the grid, as a file with
 * understated bounds may hold, goes to the nearest cell of the rim.
 *
 * Elevations are counted from the local frame's zero and not from the lowest point of a cell: that point is not known
 * until every batch was read, and in single precision 1000 m still has steps of 0.06 mm.
 *
 * @returns One fragment per cell that got a point, in row order.
 * @throws RangeError for a coordinate that is not finite.
 */
export function binIntoCells(points: LocalPoints, grid: CellGrid): CellFragment[] {
  const { pointCount, positions } = points;
  const { columns, rows, cellSize, origin } = grid;
  const cellOf = new Uint32Array(pointCount);
  const counts = new Uint32Array(columns * rows);
  for (let i = 0; i < pointCount; i++) {
    const column = Math.floor((positions[3 * i]! - origin[0]) / cellSize);
    const row = Math.floor((positions[3 * i + 1]! - origin[1]) / cellSize);
    const k = clamp(row, rows) * columns + clamp(column, columns);
    if (!(k >= 0) || !Number.isFinite(positions[3 * i + 2]!)) throw new RangeError(`Point ${i} has a coordinate that is not finite.`);
    cellOf[i] = k;
    counts[k]!++;
  }
  const fragments: CellFragment[] = [];
  const fragmentOf = new Int32Array(columns * rows).fill(-1);
  for (let k = 0; k < counts.length; k++) {
    if (counts[k] === 0) continue;
    fragmentOf[k] = fragments.length;
    fragments.push(emptyFragment(points, k % columns, Math.floor(k / columns), counts[k]!));
  }
  const filled = new Uint32Array(fragments.length);
  const corners = fragments.map((fragment) => cellCorner(grid, fragment.column, fragment.row));
  for (let i = 0; i < pointCount; i++) {
    const f = fragmentOf[cellOf[i]!]!;
    const to = filled[f]!++;
    const fragment = fragments[f]!;
    const corner = corners[f]!;
    fragment.positions[3 * to] = positions[3 * i]! - corner[0];
    fragment.positions[3 * to + 1] = positions[3 * i + 1]! - corner[1];
    fragment.positions[3 * to + 2] = positions[3 * i + 2]!;
    copyAttributes(points, i, fragment, to);
  }
  return fragments;
}

const clamp = (index: number, count: number): number => (index < 0 ? 0 : index >= count ? count - 1 : index);

function emptyFragment(like: PointAttributes, column: number, row: number, pointCount: number): CellFragment {
  return {
    column,
    row,
    pointCount,
    positions: new Float32Array(3 * pointCount),
    colours: like.colours ? new Uint8Array(3 * pointCount) : null,
    intensity: like.intensity ? new Uint16Array(pointCount) : null,
    classification: like.classification ? new Uint8Array(pointCount) : null,
  };
}

function copyAttributes(from: PointAttributes, i: number, to: PointAttributes, j: number): void {
  if (from.colours) {
    to.colours![3 * j] = from.colours[3 * i]!;
    to.colours![3 * j + 1] = from.colours[3 * i + 1]!;
    to.colours![3 * j + 2] = from.colours[3 * i + 2]!;
  }
  if (from.intensity) to.intensity![j] = from.intensity[i]!;
  if (from.classification) to.classification![j] = from.classification[i]!;
}
