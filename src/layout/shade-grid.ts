import { fromPlaneCoordinates, planeCoordinates, toPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { regionContains } from '../geometry/region.ts';
import { scale, type Vector2, type Vector3 } from '../geometry/vector.ts';
import type { RoofPlane } from '../roof/record.ts';

/** Even grid of square cells on a roof plane; only those whose centre lies on the plane count. */
export interface PlaneGrid {
  readonly plane: string;
  readonly normal: Vector3;
  /** Lower left corner, and the sides of one cell: level and up the slope. Local frame. [m] */
  readonly corner: Vector3;
  readonly across: Vector3;
  readonly up: Vector3;
  readonly columns: number;
  readonly rows: number;
  /** Number in the grid (row by row from below) of each cell that counts. */
  readonly cells: Int32Array;
}

/** Side of cells at which roof planes of an area hold about a count of cells, within limits. [m] */
export const gridStep = (slopeAreaM2: number, cellCount: number): number => Math.min(1, Math.max(0.15, Math.sqrt(slopeAreaM2 / cellCount)));

/** @param step  Side of a cell. [m] */
export function planeGrid(plane: RoofPlane, step: number): PlaneGrid {
  const frame = planeCoordinates(plane, [plane.outline[0]![0], plane.outline[0]![1]]);
  const flat = (ring: readonly Vector3[]): Vector2[] => ring.map((corner) => toPlaneCoordinates(frame, corner));
  const region = [flat(plane.outline), ...plane.holes.map(flat)];
  let [u0, v0, u1, v1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [u, v] of region[0]!) {
    u0 = Math.min(u0, u);
    v0 = Math.min(v0, v);
    u1 = Math.max(u1, u);
    v1 = Math.max(v1, v);
  }
  const columns = Math.max(1, Math.ceil((u1 - u0) / step));
  const rows = Math.max(1, Math.ceil((v1 - v0) / step));
  const cells: number[] = [];
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      if (regionContains(region, [u0 + (column + 0.5) * step, v0 + (row + 0.5) * step])) cells.push(row * columns + column);
    }
  }
  return {
    plane: plane.id, normal: frame.normal, corner: fromPlaneCoordinates(frame, [u0, v0]),
    across: scale(frame.u, step), up: scale(frame.v, step), columns, rows, cells: Int32Array.from(cells),
  };
}

/** Centres of the cells that count, x, y, z each. Local frame. [m] */
export function cellCentres({ corner, across, up, columns, cells }: PlaneGrid): Float64Array {
  const centres = new Float64Array(cells.length * 3);
  cells.forEach((number, i) => {
    const a = (number % columns) + 0.5;
    const b = Math.floor(number / columns) + 0.5;
    for (let axis = 0; axis < 3; axis++) centres[i * 3 + axis] = corner[axis]! + a * across[axis]! + b * up[axis]!;
  });
  return centres;
}
