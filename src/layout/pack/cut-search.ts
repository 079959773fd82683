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

interface Plan {
  readonly count: number;
  readonly cut: { readonly axis: 'x' | 'y'; readonly at: number; readonly first: Plan; readonly second: Plan } | null;
}

/**
 * Packs a range: rows or columns over the whole, or the range cut once straight through and each side packed by itself,
 * and so on `depth` times (guillotine cuts). Sides are tried with one cut less; a side is given up as soon as what could
 * stand on both cannot beat what is there.
 *
 * @param cutStep  Distance between tried cuts. [m]
 */
export function packWithCuts(tables: Tables, range: PackRange, depth: number, cutStep: number): PlacedRectangle[] {
  return lay(tables, range, plan(tables, range, depth, cutStep));
}

function plan(tables: Tables, range: PackRange, depth: number, cutStep: number): Plan {
  const whole = countPlain(tables, range);
  let best: Plan = { count: whole, cut: null };
  if (depth === 0 || whole === 0) return best;
  for (const axis of ['x', 'y'] as const) {
    for (const at of cuts(range, axis, cutStep)) {
      const [one, other] = split(range, axis, at);
      let first: Plan = { count: countPlain(tables, one), cut: null };
      let second: Plan = { count: countPlain(tables, other), cut: null };
      // A further cut rarely gains more than one module in nine on a side; sides too far behind are not cut again.
      if (depth > 1 && (first.count + second.count) * 1.12 + 1 > best.count) {
        first = plan(tables, one, depth - 1, cutStep * 2);
        second = plan(tables, other, depth - 1, cutStep * 2);
      }
      const count = first.count + second.count;
      if (count > best.count) best = { count, cut: { axis, at, first, second } };
    }
  }
  return best;
}

function lay(tables: Tables, range: PackRange, { cut }: Plan): PlacedRectangle[] {
  if (!cut) return layPlain(tables, range);
  const [one, other] = split(range, cut.axis, cut.at);
  return [...lay(tables, one, cut.first), ...lay(tables, other, cut.second)];
}

function cuts(range: PackRange, axis: 'x' | 'y', step: number): number[] {
  const from = axis === 'x' ? range.x0 : range.y0;
  const to = axis === 'x' ? range.x1 : range.y1;
  const count = Math.max(1, Math.ceil((to - from) / step));
  return Array.from({ length: count - 1 }, (_, i) => from + ((to - from) * (i + 1)) / count);
}

const split = (range: PackRange, axis: 'x' | 'y', at: number): [PackRange, PackRange] =>
  axis === 'x' ? [{ ...range, x1: at }, { ...range, x0: at }] : [{ ...range, y1: at }, { ...range, y0: at }];
