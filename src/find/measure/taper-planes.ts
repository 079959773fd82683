import { cellCentre } from './roof-raster.ts';
import type { DeckHeights } from './deck-heights.ts';
import { atan2, cos, sin } from '../../geometry/same-math.ts';

/** Lowest point of a hollow with plane sides. */
export interface TaperBottom {
  readonly at: readonly [number, number];
  readonly elevation: number;
  /** Planes that meet there. */
  readonly planes: number;
  /** Of its place along an axis. [m] */
  readonly sigma: number;
}

const SIDES = 4;
const ROUNDS = 8;
/** Sides that hold a smaller share of the hollow are no sides of it. */
const LEAST_SHARE = 0.06;
const FEWEST_CELLS = 12;

/** Height over plan, about the middle of the hollow: level, slope along x, slope along y. */
type Sheet = readonly [number, number, number];

/**
 * Fits a hollow by the greatest of a few planes (convex piecewise-linear fitting, Magnani and Boyd 2009, Optimization and
 * Engineering 10:1) and gives the point nearest to all of them: water on tapered boards runs there. The lowest cell wanders
 * with the noise over the fall; planes average it over whole boards.
 *
 * @param cells  Cells of the hollow; heights of single cells are used, as smoothing would fill the bottom.
 * @returns null where fewer than three planes, or none that cross well, make up the hollow.
 */
export function taperBottom(cells: readonly number[], deck: DeckHeights): TaperBottom | null {
  const used = cells.filter((k) => deck.weights[k]! > 0);
  if (used.length < SIDES * FEWEST_CELLS) return null;
  const xy = used.map((k) => cellCentre(deck, k));
  const [mx, my] = [0, 1].map((axis) => xy.reduce((sum, p) => sum + p[axis]!, 0) / xy.length) as [number, number];
  const samples: Samples = { x: xy.map((p) => p[0] - mx), y: xy.map((p) => p[1] - my), z: used.map((k) => deck.heights[k]!) };
  const whole = fitSides(firstSides(used, deck), samples, ROUNDS);
  if (!whole) return null;
  const [x, y, elevation] = whole.bottom;
  const sigma = leftOutSigma(whole, samples);
  return sigma === null ? null : { at: [x + mx, y + my], elevation, planes: whole.planes, sigma };
}

interface Samples {
  readonly x: readonly number[];
  readonly y: readonly number[];
  readonly z: readonly number[];
}

interface Sides {
  readonly side: readonly number[];
  readonly bottom: Sheet;
  readonly planes: number;
}

function fitSides(first: readonly number[], samples: Samples, rounds: number): Sides | null {
  const { x, y, z } = samples;
  let side = first;
  let sheets: Sheet[] = [];
  for (let round = 0; round < rounds; round++) {
    sheets = Array.from({ length: SIDES }, (_, s) => sheetOf(side, s, x, y, z)).filter((sheet) => sheet !== null);
    if (sheets.length < 3) return null;
    side = x.map((_, i) => greatest(sheets, x[i]!, y[i]!));
  }
  const counts = sheets.map((_, s) => side.filter((own) => own === s).length);
  const kept = sheets.filter((_, s) => counts[s]! >= Math.max(FEWEST_CELLS, LEAST_SHARE * x.length));
  const bottom = kept.length >= 3 ? nearestToAll(kept) : null;
  return bottom && { side, bottom, planes: kept.length };
}

/** Blocks left out in turn: longer than most waves of the noise. [m] */
const BLOCK = 1.8;
const LEFT_OUT_ROUNDS = 2;

/** One sigma of the bottom's place along an axis, by leaving out one block of the hollow at a time (delete-group jackknife). */
function leftOutSigma({ side, bottom }: Sides, { x, y, z }: Samples): number | null {
  const block = x.map((_, i) => Math.floor(x[i]! / BLOCK) + 1000 * Math.floor(y[i]! / BLOCK));
  const blocks = [...new Set(block)].sort((a, b) => a - b);
  let squares = 0;
  for (const out of blocks) {
    const kept = block.flatMap((own, i) => (own === out ? [] : [i]));
    const without = fitSides(kept.map((i) => side[i]!), { x: kept.map((i) => x[i]!), y: kept.map((i) => y[i]!), z: kept.map((i) => z[i]!) }, LEFT_OUT_ROUNDS);
    if (!without) return null;
    squares += ((without.bottom[0] - bottom[0]) ** 2 + (without.bottom[1] - bottom[1]) ** 2) / 2;
  }
  return Math.sqrt(((blocks.length - 1) / blocks.length) * squares);
}

/** Sides by the direction of fall, about the four directions that most of the hollow falls in. */
function firstSides(cells: readonly number[], { smooth, columns }: DeckHeights): number[] {
  const bearings = cells.map((k) => {
    const dx = smooth[k + 3]! - smooth[k - 3]!;
    const dy = smooth[k + 3 * columns]! - smooth[k - 3 * columns]!;
    return atan2(dy, dx);
  });
  let [c, s] = [0, 0];
  for (const bearing of bearings) {
    if (Number.isNaN(bearing)) continue;
    c += cos(4 * bearing);
    s += sin(4 * bearing);
  }
  const first = atan2(s, c) / 4;
  const quarter = (bearing: number): number => (((Math.round((bearing - first) / (Math.PI / 2)) % SIDES) + SIDES) % SIDES);
  return bearings.map((bearing) => (Number.isNaN(bearing) ? -1 : quarter(bearing)));
}

function sheetOf(side: readonly number[], own: number, x: readonly number[], y: readonly number[], z: readonly number[]): Sheet | null {
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

/** x, y, z with the least squared height off all planes. */
function nearestToAll(sheets: readonly Sheet[]): Sheet | null {
  let [n, a, b, aa, ab, bb, l, al, bl] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (const [level, sx, sy] of sheets) {
    n++;
    a += sx;
    b += sy;
    aa += sx * sx;
    ab += sx * sy;
    bb += sy * sy;
    l += level;
    al += sx * level;
    bl += sy * level;
  }
  return solve3([aa, ab, -a, ab, bb, -b, -a, -b, n], [-al, -bl, l]);
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
