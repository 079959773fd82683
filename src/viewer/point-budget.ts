import type { Cell, Cloud } from '../cloud/cloud.ts';
import { project, type Projection } from './projection.ts';
import type { SectionLine } from './section-cut.ts';

/** More points on one pixel of the picture than this only cost time. [points/px²] */
export const POINTS_PER_PIXEL = 0.6;
/** In ink the points are a stipple that stays quieter than the lines. [points/px²] */
export const STIPPLE_PER_PIXEL = 0.022;

/**
 * How much of each cell to draw: nothing of cells outside the picture or the strip, as much of the others as their
 * size in the picture can show, and all of it scaled down together where the sum exceeds the budget.
 */
export function pointsToDraw(cloud: Cloud, view: Projection, strip: SectionLine | null, budget: number, perPixel: number): number[] {
  const { cellSize } = cloud.grid;
  const wanted = cloud.cells.map((cell) => {
    if (!inPicture(cell, cloud, view) || (strip && !touchesStrip(cell, cellSize, strip))) return 0;
    if (strip) return cell.pointCount;
    const side = cellSize * view.pixelsPerMetre;
    return Math.min(cell.pointCount, Math.ceil(side * side * perPixel));
  });
  const sum = wanted.reduce((total, count) => total + count, 0);
  const share = sum > budget ? budget / sum : 1;
  return wanted.map((count) => Math.floor(count * share));
}

function inPicture(cell: Cell, cloud: Cloud, view: Projection): boolean {
  const { origin, cellSize } = cloud.grid;
  const [x, y] = [origin[0] + cell.column * cellSize, origin[1] + cell.row * cellSize];
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const cx of [x, x + cellSize]) {
    for (const cy of [y, y + cellSize]) {
      for (const cz of [cloud.bounds.min[2], cloud.bounds.max[2]]) {
        const [px, py] = project(view, [cx, cy, cz]);
        [left, right] = [Math.min(left, px), Math.max(right, px)];
        [top, bottom] = [Math.min(top, py), Math.max(bottom, py)];
      }
    }
  }
  return right >= 0 && left <= view.width && bottom >= 0 && top <= view.height;
}

/** By the circle round the cell, so that a strip that only grazes it counts. */
function touchesStrip(cell: Cell, cellSize: number, { from, to, thicknessM }: SectionLine): boolean {
  const [x, y] = [cell.origin[0], cell.origin[1]];
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const distance = Math.abs((x - from[0]) * dy - (y - from[1]) * dx) / (Math.hypot(dx, dy) || 1);
  return distance <= thicknessM / 2 + cellSize * Math.SQRT2;
}
