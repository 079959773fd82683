import { atan2, cos, sin } from '../../geometry/same-math.ts';
import type { DeckHeights } from './deck-heights.ts';

/** Cells of a hollow, about its middle. [m] */
export interface HollowCells {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** Points behind each height. */
  readonly count: Float64Array;
}

/** Height over plan: level at the middle, slope along x, slope along y. */
export type Sheet = readonly [number, number, number];

const SIDES = 4;
const ROUNDS = 3;
/** Sides that hold a smaller share of the hollow are no sides of it. */
const LEAST_SHARE = 0.06;
const FEWEST_CELLS = 12;

/**
 * Parts a hollow into the few planes whose greatest it is (convex piecewise-linear fitting, Magnani and Boyd 2009,
 * Optimization and Engineering 10:1).
 *
 * @param rises  Direction each cell rises in; NaN where it has none.
 * @returns The sides' planes, plain least squares; none where there are no sides.
 */
export function hollowSides(cells: HollowCells, rises: Float64Array): Sheet[] {
  let side = firstSides(cells, rises);
  let sheets: Sheet[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    sheets = Array.from({ length: SIDES }, (_, s) => sheetOf(side, s, cells)).filter((sheet) => sheet !== null);
    if (sheets.length < 2) return [];
    side = sidesOf(cells, sheets);
  }
  const counts = sheets.map((_, s) => side.reduce((n, own) => n + (own === s ? 1 : 0), 0));
  return sheets.filter((_, s) => counts[s]! >= Math.max(FEWEST_CELLS, LEAST_SHARE * side.length));
}

/** The highest plane at each cell. */
export const sidesOf = ({ x, y }: HollowCells, sheets: readonly Sheet[]): Int8Array => Int8Array.from(x, (_, i) => greatest(sheets, x[i]!, y[i]!));

/** Direction the smoothed deck rises in, over three cells either way. */
export function risesOf(cells: readonly number[], { smooth, columns }: DeckHeights): Float64Array {
  return Float64Array.from(cells, (k) => atan2(smooth[k + 3 * columns]! - smooth[k - 3 * columns]!, smooth[k + 3]! - smooth[k - 3]!));
}

/** The hollow's top, as the share of its cells below; cells far below it draw the first middle to them. */
const TOP_SHARE = 0.9;
/** Length of the mean of doubled directions from which on a hollow rises two ways only: four triangles of one bay have 0, two boards 1. */
const TWO_WAYS = 0.6;

/** Quarters about a first middle, turned to the four directions that most of the hollow rises in, or halves where it rises two ways only. */
function firstSides({ x, y, z }: HollowCells, rises: Float64Array): Int8Array {
  const two = meanDirection(rises, 2);
  const count = two.length > TWO_WAYS ? 2 : SIDES;
  const turn = (count === 2 ? two : meanDirection(rises, SIDES)).angle / count;
  const top = z.toSorted()[Math.floor(TOP_SHARE * z.length)]!;
  let [sum, mx, my] = [0, 0, 0];
  z.forEach((height, i) => {
    const depth = Math.max(0, top - height);
    const weight = depth * depth * depth;
    sum += weight;
    mx += weight * x[i]!;
    my += weight * y[i]!;
  });
  return Int8Array.from(x, (_, i) => {
    const bearing = atan2(y[i]! - my / sum, x[i]! - mx / sum);
    return ((Math.round(((bearing - turn) * count) / (2 * Math.PI)) % count) + count) % count;
  });
}

/** Mean of directions taken so many times: its angle, and its length from 0 to 1. */
function meanDirection(directions: Float64Array, times: number): { angle: number; length: number } {
  let [c, s, n] = [0, 0, 0];
  for (const direction of directions) {
    if (Number.isNaN(direction)) continue;
    c += cos(times * direction);
    s += sin(times * direction);
    n++;
  }
  return { angle: atan2(s, c), length: n > 0 ? Math.hypot(c, s) / n : 0 };
}

function sheetOf(side: Int8Array, own: number, { x, y, z }: HollowCells): Sheet | null {
  let [n, sx, sy, sz, xx, xy, yy, xz, yz] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  side.forEach((s, i) => {
    if (s !== own) return;
    const [a, b, h] = [x[i]!, y[i]!, z[i]!];
    n++;
    sx += a;
    sy += b;
    sz += h;
    xx += a * a;
    xy += a * b;
    yy += b * b;
    xz += a * h;
    yz += b * h;
  });
  if (n < FEWEST_CELLS) return null;
  return solve3([n, sx, sy, sx, xx, xy, sy, xy, yy], [sz, xz, yz]);
}

function greatest(sheets: readonly Sheet[], x: number, y: number): number {
  let [best, height] = [0, -Infinity];
  sheets.forEach(([level, a, b], s) => {
    const h = level + a * x + b * y;
    if (h > height) [best, height] = [s, h];
  });
  return best;
}

/** Least determinant over the product of the diagonal: below it the planes do not fix a point. */
const LEAST_DETERMINANT = 1e-3;

/** Cramer's rule. */
function solve3(m: readonly number[], r: readonly [number, number, number]): Sheet | null {
  const det = (a: readonly number[]): number =>
    a[0]! * (a[4]! * a[8]! - a[5]! * a[7]!) - a[1]! * (a[3]! * a[8]! - a[5]! * a[6]!) + a[2]! * (a[3]! * a[7]! - a[4]! * a[6]!);
  const whole = det(m);
  if (!(Math.abs(whole) > LEAST_DETERMINANT * Math.abs(m[0]! * m[4]! * m[8]!))) return null;
  const column = (j: number): number => det(m.map((value, i) => (i % 3 === j ? r[Math.floor(i / 3)]! : value))) / whole;
  return [column(0), column(1), column(2)];
}
