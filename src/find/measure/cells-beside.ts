import { alongLine, besideLine, onLine, type PlanLine } from '../../geometry/plan-line.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import type { RasterFrame } from './roof-raster.ts';

/**
 * Raster cells of a strip along a line, row by row; the strip's side on the right of the line is its outside.
 *
 * @param from  Along the line. [m]
 * @param inside  Reach on the left. [m]
 * @param outside  Reach on the right. [m]
 */
export function eachCellBeside(
  frame: RasterFrame,
  line: PlanLine,
  from: number,
  to: number,
  inside: number,
  outside: number,
  visit: (cell: number) => void,
): void {
  if (to <= from) return;
  const { origin, step, columns, rows } = frame;
  const [dx, dy] = line.direction;
  const [left, right] = [inside + step, outside + step];
  const corners = [from, to].flatMap((t) => {
    const [x, y] = onLine(line, t);
    return [-left, right].map((w): Vector2 => [x + w * dy, y - w * dx]);
  });
  const columnOf = (x: number): number => Math.min(columns - 1, Math.max(0, Math.floor((x - origin[0]) / step)));
  const rowOf = (y: number): number => Math.min(rows - 1, Math.max(0, Math.floor((y - origin[1]) / step)));
  const xs = corners.map(([x]) => x);
  const ys = corners.map(([, y]) => y);
  const [lastColumn, lastRow] = [columnOf(Math.max(...xs)), rowOf(Math.max(...ys))];
  for (let row = rowOf(Math.min(...ys)); row <= lastRow; row++) {
    for (let column = columnOf(Math.min(...xs)); column <= lastColumn; column++) {
      const centre: Vector2 = [origin[0] + (column + 0.5) * step, origin[1] + (row + 0.5) * step];
      const along = alongLine(line, centre);
      const outward = -besideLine(line, centre);
      if (along < from - step || along > to + step || outward > right || outward < -left) continue;
      visit(row * columns + column);
    }
  }
}
