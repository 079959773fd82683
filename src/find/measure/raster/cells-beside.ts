import { alongLine, besideLine, onLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
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
  const [firstColumn, lastColumn, lastRow] = [columnOf(Math.min(...xs)), columnOf(Math.max(...xs)), rowOf(Math.max(...ys))];
  for (let row = rowOf(Math.min(...ys)); row <= lastRow; row++) {
    const start: Vector2 = [origin[0] + (firstColumn + 0.5) * step, origin[1] + (row + 0.5) * step];
    const [along, outward] = [alongLine(line, start), -besideLine(line, start)];
    // Both grow evenly along a row, so the strip covers one run of it.
    const [a, b] = runWithin(along, dx * step, from - step, to + step);
    const [c, d] = runWithin(outward, dy * step, -left, right);
    const end = Math.min(lastColumn - firstColumn, Math.floor(Math.min(b, d)));
    for (let i = Math.max(0, Math.ceil(Math.max(a, c))); i <= end; i++) visit(row * columns + firstColumn + i);
  }
}

/** For which steps a value that grows evenly lies between two bounds: all or none where it does not grow. */
function runWithin(start: number, growth: number, least: number, most: number): readonly [number, number] {
  if (Math.abs(growth) < 1e-12) return start >= least && start <= most ? [-Infinity, Infinity] : [Infinity, -Infinity];
  const [a, b] = [(least - start) / growth, (most - start) / growth];
  return a < b ? [a, b] : [b, a];
}
