import { bandTable, type BandTable } from './band-table.ts';
import type { RimPieces } from './free-intervals.ts';
import type { PackProblem, PackRange, PlacedRectangle } from './pack-types.ts';
import { countRows, layRows } from './row-programme.ts';

/** Both tables of one free area, with scratch for the programme. */
export interface Tables {
  readonly rows: BandTable;
  readonly columns: BandTable;
  readonly best: Int32Array;
}

export function tablesOf(pieces: RimPieces, problem: PackProblem, step: number, mostStarts: number): Tables {
  const rows = bandTable(pieces, problem, 'x', step, mostStarts);
  const columns = bandTable(pieces, problem, 'y', step, mostStarts);
  return { rows, columns, best: new Int32Array(Math.max(rows.starts.length, columns.starts.length) + 1) };
}

/** Rows or columns, whichever holds more. */
const countPlain = (tables: Tables, range: PackRange): number =>
  Math.max(countRows(tables.rows, range, tables.best), countRows(tables.columns, range, tables.best));

function layPlain(tables: Tables, range: PackRange): PlacedRectangle[] {
  const inRows = countRows(tables.rows, range, tables.best);
  const inColumns = countRows(tables.columns, range, tables.best);
  return layRows(inRows >= inColumns ? tables.rows : tables.columns, range, tables.best);
}

/**
 * Packs a range: rows or columns over the whole, or the range cut once straight through and each side packed by itself
 * (guillotine cut). A second cut on each side gains 0.6 % for ten times the time; swaps find the same and more.
 *
 * @param cutStep  Distance between tried cuts. [m]
 */
export function packWithCut(tables: Tables, range: PackRange, cutStep: number): PlacedRectangle[] {
  let most = countPlain(tables, range);
  let sides: readonly PackRange[] = [range];
  if (most === 0) return [];
  for (const axis of ['x', 'y'] as const) {
    for (const at of cuts(range, axis, cutStep)) {
      const tried = split(range, axis, at);
      const count = countPlain(tables, tried[0]) + countPlain(tables, tried[1]);
      if (count > most) {
        most = count;
        sides = tried;
      }
    }
  }
  return sides.flatMap((side) => layPlain(tables, side));
}

function cuts(range: PackRange, axis: 'x' | 'y', step: number): number[] {
  const from = axis === 'x' ? range.x0 : range.y0;
  const to = axis === 'x' ? range.x1 : range.y1;
  const count = Math.max(1, Math.ceil((to - from) / step));
  return Array.from({ length: count - 1 }, (_, i) => from + ((to - from) * (i + 1)) / count);
}

const split = (range: PackRange, axis: 'x' | 'y', at: number): [PackRange, PackRange] =>
  axis === 'x' ? [{ ...range, x1: at }, { ...range, x0: at }] : [{ ...range, y1: at }, { ...range, y0: at }];
