import type { Cell, Cloud } from '../../cloud/cloud.ts';
import type { Vector3 } from '../../geometry/vector.ts';
import { placeAfter, type Move } from './move-model.ts';

/** One cell after all moves of the model, with positions of its own; attributes are shared. */
export function movedCell(cell: Cell, moves: readonly Move[]): Cell {
  const origin = placesAfter(cell.origin, moves);
  const [x, y, z] = axesOf(moves);
  const positions = new Float32Array(cell.positions.length);
  for (let i = 0; i < positions.length; i += 3) {
    const [a, b, c] = [cell.positions[i]!, cell.positions[i + 1]!, cell.positions[i + 2]!];
    for (let axis = 0; axis < 3; axis++) positions[i + axis] = a * x[axis]! + b * y[axis]! + c * z[axis]!;
  }
  return { ...cell, origin, positions };
}

/**
 * The cloud of moved cells, its grid and bounds with it. A turn leaves the grid square to the axes: its cells then stand
 * where their points do, to within their size times the angle.
 */
export function movedCloud(cloud: Cloud, cells: readonly Cell[], moves: readonly Move[]): Cloud {
  const { min, max } = cloud.bounds;
  const [x, y] = placesAfter([cloud.grid.origin[0], cloud.grid.origin[1], (min[2] + max[2]) / 2], moves);
  const corners = [min[0], max[0]].flatMap((east) => [min[1], max[1]].flatMap((north) => [min[2], max[2]].map((up) => placesAfter([east, north, up], moves))));
  const extreme = (of: (...values: number[]) => number): Vector3 => [0, 1, 2].map((axis) => of(...corners.map((corner) => corner[axis]!))) as unknown as Vector3;
  const cellSize = moves.reduce((size, move) => ('horizontal' in move ? size * move.horizontal : size), cloud.grid.cellSize);
  return { ...cloud, cells, grid: { ...cloud.grid, origin: [x, y], cellSize }, bounds: { min: extreme(Math.min), max: extreme(Math.max) } };
}

/** Points moved where they stand. @param positions  x, y, z, `n × 3`, local frame. [m] */
export function moveInPlace(positions: Float64Array, moves: readonly Move[]): void {
  if (moves.length === 0) return;
  const [ox, oy, oz] = placesAfter([0, 0, 0], moves);
  const [x, y, z] = axesOf(moves);
  for (let i = 0; i < positions.length; i += 3) {
    const [a, b, c] = [positions[i]!, positions[i + 1]!, positions[i + 2]!];
    positions[i] = ox + a * x[0] + b * y[0] + c * z[0];
    positions[i + 1] = oy + a * x[1] + b * y[1] + c * z[1];
    positions[i + 2] = oz + a * x[2] + b * y[2] + c * z[2];
  }
}

const placesAfter = (at: Vector3, moves: readonly Move[]): Vector3 => moves.reduce(placeAfter, at);

/** What the three axes become: every move is one matrix about a fixed point. */
function axesOf(moves: readonly Move[]): readonly [Vector3, Vector3, Vector3] {
  const linear = moves.map((move): Move => ({ ...move, about: [0, 0, 0] }));
  return [placesAfter([1, 0, 0], linear), placesAfter([0, 1, 0], linear), placesAfter([0, 0, 1], linear)];
}
