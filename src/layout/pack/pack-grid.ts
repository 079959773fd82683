import { bandTable, levelPieces, ON_RIM, withoutRepeats } from './band-table.ts';
import { freeIntervalFinder, rimPieces, type RimPieces } from './free-intervals.ts';
import { extendedRange, modulesIn } from './pack-most.ts';
import type { PackProblem, PlacedRectangle } from './pack-types.ts';
import { layRows } from './row-programme.ts';

/** Tried row starts along the slope. */
const MOST_STARTS = 400;
const STEP = 0.05;

/**
 * Rows of one shape along x: every row starts where it holds most, rows stand where they hold most together (dynamic
 * programme). Best of the shapes offered.
 */
export function packRows(problem: PackProblem): PlacedRectangle[] {
  return bestShape(problem, (single, pieces) => {
    const table = bandTable(pieces, single, 'x', STEP, MOST_STARTS);
    return layRows(table, extendedRange(pieces, single), new Int32Array(table.starts.length + 1));
  });
}

/** One row of a grid: its height, and the stretches along it where a shape may stand (pairs from, to). */
interface GridRow {
  readonly y: number;
  readonly free: readonly number[];
}

/**
 * One even grid of one shape: common columns and rows. Row offsets are tried in steps over one pitch and where a row
 * would stand on or hang from a level piece of rim; the column offset is found exactly. Best of the shapes offered.
 */
export function packAligned(problem: PackProblem): PlacedRectangle[] {
  return bestShape(problem, (single, pieces) => {
    const shape = single.shapes[0]!;
    const columnPitch = shape.width + single.gapX;
    const rowPitch = shape.height + single.gapY;
    const { y0, y1 } = extendedRange(pieces, single);
    const find = freeIntervalFinder(pieces);
    let best: { count: number; rows: readonly GridRow[]; offset: number } = { count: 0, rows: [], offset: 0 };
    for (const start of rowOffsets(pieces, y0, shape.height, rowPitch)) {
      const rows: GridRow[] = [];
      for (let y = start; y + rowPitch <= y1; y += rowPitch) {
        const { found, count } = find(y, y + shape.height, shape.width);
        if (count > 0) rows.push({ y, free: [...found.subarray(0, count)] });
      }
      const { count, offset } = bestOffset(rows, shape.width, columnPitch);
      if (count > best.count) best = { count, rows, offset };
    }
    return best.rows.flatMap((row) => columnsOf(row, shape.width, columnPitch, best.offset)
      .map((x): PlacedRectangle => ({ x, y: row.y, shape: 0 })));
  });
}

function rowOffsets(pieces: RimPieces, low: number, height: number, pitch: number): number[] {
  const offsets: number[] = [];
  for (let y = 0; y < pitch; y += STEP) offsets.push(y);
  for (const level of levelPieces(pieces, height)) {
    for (const y of [level + ON_RIM, level - height - ON_RIM]) offsets.push((((y - low) % pitch) + pitch) % pitch);
  }
  return withoutRepeats(offsets).map((offset) => low + offset);
}

/** Column offset with most columns in all rows, the middle of the best stretch of offsets. */
function bestOffset(rows: readonly GridRow[], length: number, pitch: number): { count: number; offset: number } {
  const changes: [number, number][] = [];
  let always = 0;
  for (const { free } of rows) {
    for (let k = 0; k < free.length; k += 2) {
      const room = free[k + 1]! - free[k]! - length;
      // Left edges may lie anywhere in [from, from + room]: whole pitches always hold one each, the rest depends.
      const whole = Math.floor(room / pitch);
      const rest = room - whole * pitch;
      always += whole;
      const low = ((free[k]! % pitch) + pitch) % pitch;
      changes.push([low, 1], [low + rest, -1]);
      if (low + rest >= pitch) changes.push([0, 1], [low + rest - pitch, -1]);
    }
  }
  changes.sort((a, b) => a[0] - b[0] || b[1] - a[1]);
  let open = 0;
  let most = 0;
  let offset = 0;
  for (let i = 0; i < changes.length; i++) {
    open += changes[i]![1];
    if (changes[i]![1] > 0 && open > most) {
      most = open;
      const until = changes[i + 1]?.[0] ?? changes[i]![0];
      offset = (changes[i]![0] + until) / 2;
    }
  }
  return { count: always + most, offset };
}

function columnsOf({ free }: GridRow, length: number, pitch: number, offset: number): number[] {
  const columns: number[] = [];
  for (let k = 0; k < free.length; k += 2) {
    const first = Math.ceil((free[k]! - offset) / pitch - 1e-9);
    for (let n = first; offset + n * pitch + length <= free[k + 1]! + 1e-9; n++) columns.push(offset + n * pitch);
  }
  return columns;
}

function bestShape(
  problem: PackProblem, pack: (single: PackProblem, pieces: Float64Array) => PlacedRectangle[],
): PlacedRectangle[] {
  if (problem.region.length === 0) return [];
  const pieces = rimPieces(problem.region);
  let best: PlacedRectangle[] = [];
  problem.shapes.forEach((shape, index) => {
    const placed = pack({ ...problem, shapes: [shape] }, pieces).map((one) => ({ ...one, shape: index }));
    if (modulesIn(problem, placed) > modulesIn(problem, best)) best = placed;
  });
  return best;
}
