import { seededRandom } from '../../geometry/seeded-random.ts';
import { packWithCut, tablesOf } from './cut-search.ts';
import { rimPieces, type RimPieces } from './free-intervals.ts';
import { placesOf } from './places.ts';
import { swapSearch } from './swap-search.ts';
import type { PackProblem, PackRange, PlacedRectangle } from './pack-types.ts';

export interface PackEffort {
  /** Distance between tried row starts. [m] */
  readonly step: number;
  /** Distance between tried cuts. [m] */
  readonly cutStep: number;
  /** Looks at places spent on improving the layout by swaps. */
  readonly looks: number;
}

/** Stays under 50 ms a face on a plain machine; a smaller step or more looks gain under one per cent. */
export const USUAL_EFFORT: PackEffort = { step: 0.1, cutStep: 0.2, looks: 4_000_000 };

/** Rows or columns with few cuts and no repair. */
export const QUICK_EFFORT: PackEffort = { step: 0.15, cutStep: 1, looks: 0 };

/** Tried row starts on large roofs. */
const MOST_STARTS = 260;
/** Tried cuts on large roofs. */
const MOST_CUTS = 200;
/**
 * As many modules as can be found: row programme along both directions with mixed shapes, one guillotine cut, then
 * local repair by swaps. Seeded, so repeatable.
 *
 * @param enough  A count no layout can exceed: the search stops there. Default: none known.
 */
export function packMost(problem: PackProblem, effort: PackEffort = USUAL_EFFORT, enough = Infinity): PlacedRectangle[] {
  if (problem.region.length === 0) return [];
  const pieces = rimPieces(problem.region);
  const range = extendedRange(pieces, problem);
  const tables = tablesOf(pieces, problem, effort.step, MOST_STARTS);
  const cutCount = (range.x1 - range.x0 + range.y1 - range.y0) / effort.cutStep;
  const placed = packWithCut(tables, range, effort.cutStep * Math.max(1, cutCount / MOST_CUTS));
  if (effort.looks === 0 || modulesIn(problem, placed) >= enough) return placed;
  const places = placesOf(problem, tables.rows);
  return swapSearch(problem, places, placed, seededRandom(1), effort.looks, enough / problem.shapes[0]!.modules);
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

export const modulesIn = (problem: PackProblem, placed: readonly PlacedRectangle[]): number =>
  placed.reduce((sum, one) => sum + problem.shapes[one.shape]!.modules, 0);
