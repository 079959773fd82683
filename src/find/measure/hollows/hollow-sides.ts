import { atan2, cos, sin } from '../../../geometry/same-math.ts';
import { addAt, factorOf, solveDecomposed, wholeRows } from '../../../geometry/solve-symmetric.ts';
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
/** Least determinant over the product of the diagonal: below it cells stand too nearly in one line to fix a plane. */
const LEAST_DETERMINANT = 1e-3;

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
export function sidesOf({ x, y }: HollowCells, sheets: readonly Sheet[]): Int8Array {
  const sides = new Int8Array(x.length);
  for (let i = 0; i < sides.length; i++) sides[i] = greatest(sheets, x[i]!, y[i]!);
  return sides;
}

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
  const normal = wholeRows(3);
  [[n], [sx, xx], [sy, xy, yy]].forEach((row, i) => row.forEach((value, j) => addAt(normal, i, j, value)));
  const root = factorOf(normal);
  if (!root || root.rows.reduce((determinant, row) => determinant * row.at(-1)! ** 2, 1) < LEAST_DETERMINANT * n * xx * yy) return null;
  return solveDecomposed(root, [sz, xz, yz]) as unknown as Sheet;
}

function greatest(sheets: readonly Sheet[], x: number, y: number): number {
  let best = 0;
  let height = -Infinity;
  for (let s = 0; s < sheets.length; s++) {
    const sheet = sheets[s]!;
    const h = sheet[0] + sheet[1] * x + sheet[2] * y;
    if (!(h > height)) continue;
    best = s;
    height = h;
  }
  return best;
}
