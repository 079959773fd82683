import { seededRandom } from '../../geometry/seeded-random.ts';
import { packWithCuts, tablesOf } from './cut-search.ts';
import { rimPieces, type RimPieces } from './free-intervals.ts';
import type { PackProblem, PackRange, PlacedRectangle } from './pack-types.ts';

export interface PackEffort {
  /** Distance between tried row starts. [m] */
  readonly step: number;
  /** Distance between tried cuts. [m] */
  readonly cutStep: number;
  /** How often a window of the layout is taken out and packed anew. */
  readonly repairs: number;
}

/** Stays under 50 ms a face of some 50 modules on a plain machine; less step or more repairs gain under one per cent. */
export const USUAL_EFFORT: PackEffort = { step: 0.1, cutStep: 0.2, repairs: 120 };

/** Rows or columns with few cuts and no repair. */
export const QUICK_EFFORT: PackEffort = { step: 0.15, cutStep: 1, repairs: 0 };

/** Tried row starts on large roofs. */
const MOST_STARTS = 260;
/** A second cut pays on small faces only; above this many tried cuts it costs more time than it gains. */
const MOST_CUTS_TWICE = 90;

/**
 * As many modules as can be found: row programme along both directions with mixed shapes, guillotine cuts, then local
 * repair: windows of the layout are emptied and packed anew, kept when nothing is lost. Seeded, so repeatable.
 */
export function packMost(problem: PackProblem, effort: PackEffort = USUAL_EFFORT): PlacedRectangle[] {
  if (problem.region.length === 0) return [];
  const pieces = rimPieces(problem.region);
  const range = extendedRange(pieces, problem);
  const tables = tablesOf(pieces, problem, effort.step, MOST_STARTS);
  const cutCount = (range.x1 - range.x0 + range.y1 - range.y0) / effort.cutStep;
  const cutStep = effort.cutStep * Math.max(1, cutCount / 200);
  const placed = packWithCuts(tables, range, cutCount <= MOST_CUTS_TWICE ? 2 : 1, cutStep);
  return repair(problem, pieces, range, placed, effort);
}

export function extendedRange(pieces: RimPieces, problem: PackProblem): PackRange {
  let x0 = Infinity;
  let y0 = Infinity;
  let x1 = -Infinity;
  let y1 = -Infinity;
  for (let i = 0; i < pieces.length; i += 2) {
    x0 = Math.min(x0, pieces[i]!);
    x1 = Math.max(x1, pieces[i]!);
    y0 = Math.min(y0, pieces[i + 1]!);
    y1 = Math.max(y1, pieces[i + 1]!);
  }
  return { x0, y0, x1: x1 + problem.gapX, y1: y1 + problem.gapY };
}

function repair(
  problem: PackProblem, pieces: RimPieces, range: PackRange, start: PlacedRectangle[], effort: PackEffort,
): PlacedRectangle[] {
  const { shapes } = problem;
  const longest = Math.max(...shapes.map((shape) => Math.max(shape.width, shape.height)));
  const random = seededRandom(1);
  let placed = start;
  for (let turn = 0; turn < effort.repairs; turn++) {
    const width = longest * (1.2 + 1.8 * random.uniform());
    const height = longest * (1.2 + 1.8 * random.uniform());
    const x0 = range.x0 + random.uniform() * Math.max(0, range.x1 - range.x0 - width);
    const y0 = range.y0 + random.uniform() * Math.max(0, range.y1 - range.y0 - height);
    const window: PackRange = { x0, y0, x1: Math.min(range.x1, x0 + width), y1: Math.min(range.y1, y0 + height) };
    placed = repairWindow(problem, pieces, window, placed, effort);
  }
  return placed;
}

/** Empties what touches a window, packs the ground this frees anew, and keeps the better of the two. */
function repairWindow(
  problem: PackProblem, pieces: RimPieces, window: PackRange, placed: PlacedRectangle[], effort: PackEffort,
): PlacedRectangle[] {
  const { shapes, gapX, gapY } = problem;
  const taken: PlacedRectangle[] = [];
  const kept: PlacedRectangle[] = [];
  let { x0, y0, x1, y1 } = window;
  for (const one of placed) {
    const shape = shapes[one.shape]!;
    const right = one.x + shape.width + gapX;
    const upper = one.y + shape.height + gapY;
    if (one.x < window.x1 && right > window.x0 && one.y < window.y1 && upper > window.y0) {
      taken.push(one);
      x0 = Math.min(x0, one.x);
      y0 = Math.min(y0, one.y);
      x1 = Math.max(x1, right);
      y1 = Math.max(y1, upper);
    } else kept.push(one);
  }
  const local = withObstacles(pieces, problem, kept, { x0, y0, x1, y1 });
  const tables = tablesOf(local, problem, effort.step * 1.5, 60);
  const renewed = packWithCuts(tables, { x0, y0, x1, y1 }, 1, effort.cutStep * 2);
  return modulesIn(problem, renewed) >= modulesIn(problem, taken) ? [...kept, ...renewed] : placed;
}

/**
 * Rim pieces near a window, the window's own frame, and the kept rectangles as holes widened by the gap. The frame turns
 * the open rim into closed ground: pieces outside it are clipped away by the packing range, and those needed for the
 * inside test reach to the right of every tested position because whole pieces are kept.
 */
function withObstacles(pieces: RimPieces, problem: PackProblem, kept: readonly PlacedRectangle[], range: PackRange): RimPieces {
  const found: number[] = [];
  for (let i = 0; i < pieces.length; i += 4) {
    const lowest = Math.min(pieces[i + 1]!, pieces[i + 3]!);
    const highest = Math.max(pieces[i + 1]!, pieces[i + 3]!);
    const leftmost = Math.min(pieces[i]!, pieces[i + 2]!);
    const rightmost = Math.max(pieces[i]!, pieces[i + 2]!);
    // Needed for inside tests along x and along y: everything level with the window, and everything above or below it.
    if ((highest >= range.y0 && lowest <= range.y1) || (rightmost >= range.x0 && leftmost <= range.x1)) {
      found.push(pieces[i]!, pieces[i + 1]!, pieces[i + 2]!, pieces[i + 3]!);
    }
  }
  for (const one of kept) {
    const shape = problem.shapes[one.shape]!;
    const x0 = one.x - problem.gapX + HELD_GAP;
    const y0 = one.y - problem.gapY + HELD_GAP;
    const x1 = one.x + shape.width + problem.gapX - HELD_GAP;
    const y1 = one.y + shape.height + problem.gapY - HELD_GAP;
    if (x1 < range.x0 || x0 > range.x1 || y1 < range.y0 || y0 > range.y1) continue;
    found.push(x0, y0, x0, y1, x0, y1, x1, y1, x1, y1, x1, y0, x1, y0, x0, y0);
  }
  return Float64Array.from(found);
}

/** A kept rectangle's hole is drawn this much tighter, since the band test keeps the same distance again. [m] */
const HELD_GAP = 1e-4;

export const modulesIn = (problem: PackProblem, placed: readonly PlacedRectangle[]): number =>
  placed.reduce((sum, one) => sum + problem.shapes[one.shape]!.modules, 0);
