import type { Building, RoofRecord } from '../roof/record.ts';
import { ringContains } from '../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';

/** Height of the highest surface on a plan raster: roofs, trees, ground. */
export interface SurfaceModel {
  /** Lower left corner, local frame. [m] */
  readonly origin: readonly [number, number];
  /** [m] */
  readonly cellSize: number;
  readonly columns: number;
  readonly rows: number;
  /** Row by row from the south; NaN where nothing was seen. [m] */
  readonly elevation: Float32Array;
}

/** More cells than this and the raster is made coarser. 16 million cells are 64 MB. */
const MOST_CELLS = 16_000_000;

/** Finest raster of a cloud. [m] Near things are known better from the record, far ones need no finer steps. */
const FINEST = 0.25;

/** Side of raster cells that suits a cloud: twice its point spacing, so that no light falls through between points. [m] */
export const cellSizeFor = (pointSpacingM: number): number => Math.max(FINEST, Math.ceil(pointSpacingM * 2 * 20) / 20);

/** x0, y0, x1, y1 in plan. [m] */
export type PlanBox = readonly [number, number, number, number];

/** The part of a surface that lies within a distance of a box, on the same cells. */
export function surfaceWindow(surface: SurfaceModel, box: PlanBox, reach: number): SurfaceModel {
  const { origin, cellSize, columns, rows, elevation } = surface;
  const first = (from: number, start: number): number => Math.max(0, Math.floor((from - reach - start) / cellSize));
  const last = (to: number, start: number, count: number): number => Math.min(count - 1, Math.ceil((to + reach - start) / cellSize));
  const [c0, c1] = [first(box[0], origin[0]), last(box[2], origin[0], columns)];
  const [r0, r1] = [first(box[1], origin[1]), last(box[3], origin[1], rows)];
  if (c0 === 0 && r0 === 0 && c1 === columns - 1 && r1 === rows - 1) return surface;
  const wide = Math.max(0, c1 - c0 + 1);
  const deep = Math.max(0, r1 - r0 + 1);
  const part = new Float32Array(wide * deep);
  for (let row = 0; row < deep; row++) part.set(elevation.subarray((r0 + row) * columns + c0, (r0 + row) * columns + c0 + wide), row * wide);
  return { origin: [origin[0] + c0 * cellSize, origin[1] + r0 * cellSize], cellSize, columns: wide, rows: deep, elevation: part };
}

/** Surface raster of what a record holds: its roof planes over the ground of their buildings. */
export function surfaceOfRecord(record: RoofRecord, cellSize = 0.25): SurfaceModel {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const building of record.buildings) {
    for (const plane of building.roofPlanes) {
      for (const [x, y] of plane.outline) {
        x0 = Math.min(x0, x);
        y0 = Math.min(y0, y);
        x1 = Math.max(x1, x);
        y1 = Math.max(y1, y);
      }
    }
  }
  if (!(x1 > x0)) return emptySurface(0, 0, cellSize, cellSize, cellSize);
  // A rim of empty cells: whoever stands at the very edge of a roof stands inside the raster.
  const rim = 2 * cellSize;
  return withRoofPlanes(emptySurface(x0 - rim, y0 - rim, x1 + rim, y1 + rim, cellSize), record.buildings, Infinity);
}

/**
 * Puts the roof planes of a record into a surface: cells that lie on a plane within `tolerance` take its exact height, so
 * that noise of the cloud throws no shade; empty cells take it too. The highest point of a cell on a slope lies above its
 * centre by up to the rise across half the cell, which is allowed for. With an infinite tolerance every cell is set, and the
 * highest plane wins. Cells taller than the plane by more than the tolerance stay: something stands there.
 */
export function withRoofPlanes(surface: SurfaceModel, buildings: readonly Building[], tolerance: number): SurfaceModel {
  const elevation = surface.elevation.slice();
  for (const building of buildings) {
    for (const plane of building.roofPlanes) {
      const [a, b, c] = plane.normal;
      const rise = (((Math.abs(a) + Math.abs(b)) / c) * surface.cellSize) / 2;
      eachCellNear(surface, plane.outline, 0, (at, x, y) => {
        if (!ringContains(plane.outline, [x, y]) || plane.holes.some((hole) => ringContains(hole, [x, y]))) return;
        const z = -(a * x + b * y + plane.offset) / c;
        const seen = elevation[at]!;
        if (Number.isNaN(seen) || Math.abs(seen - z) <= tolerance + rise && (tolerance < Infinity || z > seen)) elevation[at] = z;
      });
    }
  }
  return { ...surface, elevation };
}

/**
 * Takes things out of a surface that are known better as solids: cells inside their footprints, and a rim of one cell
 * and a half about them, count as not seen (roof planes put back afterwards fill them). Otherwise a thing would count
 * twice, once with a rim blurred by a cell.
 */
export function withoutSolids(surface: SurfaceModel, solids: readonly { readonly footprint: readonly Vector2[] }[]): SurfaceModel {
  const elevation = surface.elevation.slice();
  const reach = surface.cellSize * 1.5;
  for (const { footprint } of solids) {
    eachCellNear(surface, footprint, reach, (at, x, y) => {
      if (ringContains(footprint, [x, y]) || distanceToRing(footprint, x, y) < reach) elevation[at] = Number.NaN;
    });
  }
  return { ...surface, elevation };
}

function distanceToRing(ring: readonly Vector2[], x: number, y: number): number {
  let least = Infinity;
  ring.forEach((to, i) => {
    const from = ring[(i + ring.length - 1) % ring.length]!;
    const dx = to[0] - from[0];
    const dy = to[1] - from[1];
    const squared = dx * dx + dy * dy;
    const share = squared === 0 ? 0 : Math.min(1, Math.max(0, ((x - from[0]) * dx + (y - from[1]) * dy) / squared));
    least = Math.min(least, Math.hypot(x - from[0] - share * dx, y - from[1] - share * dy));
  });
  return least;
}

/** A surface nothing was seen of yet; its cells are made larger when there would be too many. */
export function emptySurface(x0: number, y0: number, x1: number, y1: number, cellSize: number): SurfaceModel {
  const asked = Math.ceil((x1 - x0) / cellSize + 1) * Math.ceil((y1 - y0) / cellSize + 1);
  const size = asked > MOST_CELLS ? cellSize * Math.sqrt(asked / MOST_CELLS) : cellSize;
  const columns = Math.floor((x1 - x0) / size) + 1;
  const rows = Math.floor((y1 - y0) / size) + 1;
  return { origin: [x0, y0], cellSize: size, columns, rows, elevation: new Float32Array(columns * rows).fill(Number.NaN) };
}

/** Cells of the box about a ring, widened by `reach`. */
function eachCellNear(
  { origin, cellSize, columns, rows }: SurfaceModel, ring: readonly (Vector2 | Vector3)[], reach: number,
  visit: (at: number, x: number, y: number) => void,
): void {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of ring) {
    x0 = Math.min(x0, x - reach);
    y0 = Math.min(y0, y - reach);
    x1 = Math.max(x1, x + reach);
    y1 = Math.max(y1, y + reach);
  }
  const firstColumn = Math.max(0, Math.floor((x0 - origin[0]) / cellSize));
  const lastColumn = Math.min(columns - 1, Math.floor((x1 - origin[0]) / cellSize));
  const firstRow = Math.max(0, Math.floor((y0 - origin[1]) / cellSize));
  const lastRow = Math.min(rows - 1, Math.floor((y1 - origin[1]) / cellSize));
  for (let row = firstRow; row <= lastRow; row++) {
    for (let column = firstColumn; column <= lastColumn; column++) {
      visit(row * columns + column, origin[0] + (column + 0.5) * cellSize, origin[1] + (row + 0.5) * cellSize);
    }
  }
}
