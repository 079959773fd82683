import type { BandTable } from './band-table.ts';
import type { PackRange, PlacedRectangle } from './pack-types.ts';

/** Slack in a division, so that a run that fits exactly is not lost to rounding. [m] */
const ROUNDING = 1e-9;

/**
 * Most modules that stand in rows inside a range, rows chosen by dynamic programming over their starts: for each start
 * either skip it or lay the fullest row there and go on above it.
 *
 * @param best  Scratch, at least `table.starts.length + 1` long.
 */
export function countRows(table: BandTable, range: PackRange, best: Int32Array): number {
  const { starts, bands, gapAcross } = table;
  const { a0, a1, c0, c1 } = turned(table, range);
  const first = lowerBound(starts, c0 - ROUNDING, 0);
  best[starts.length] = 0;
  const above = bands.map(() => starts.length);
  for (let i = starts.length - 1; i >= first; i--) {
    let most = best[i + 1]!;
    for (let b = 0; b < bands.length; b++) {
      const band = bands[b]!;
      const end = starts[i]! + band.depth + gapAcross;
      // Ends fall together with starts, so the first start above the row only moves down.
      let next = above[b]!;
      while (next > i + 1 && starts[next - 1]! >= end - ROUNDING) next--;
      above[b] = next;
      if (end > c1 + ROUNDING) continue;
      const count = rowCount(table, b, i, a0, a1);
      if (count > 0 && count + best[next]! > most) most = count + best[next]!;
    }
    best[i] = most;
  }
  return first < starts.length ? best[first]! : 0;
}

/**
 * The rows behind `countRows`. Where a run has room to shift it stands in line with the longest run, else in the middle of
 * its stretch.
 */
export function layRows(table: BandTable, range: PackRange, best: Int32Array): PlacedRectangle[] {
  const runs: Run[] = [];
  if (countRows(table, range, best) === 0) return [];
  const { starts, bands, gapAcross } = table;
  const { a0, a1, c0, c1 } = turned(table, range);
  let i = lowerBound(starts, c0 - ROUNDING, 0);
  while (i < starts.length && best[i]! > 0) {
    if (best[i] === best[i + 1]) {
      i++;
      continue;
    }
    const chosen = bands.findIndex((band, b) => {
      const end = starts[i]! + band.depth + gapAcross;
      if (end > c1 + ROUNDING) return false;
      const count = rowCount(table, b, i, a0, a1);
      return count > 0 && count + best[lowerBound(starts, end - ROUNDING, i + 1)]! === best[i];
    });
    collectRuns(table, chosen, i, a0, a1, runs);
    i = lowerBound(starts, starts[i]! + bands[chosen]!.depth + gapAcross - ROUNDING, i + 1);
  }
  return inLine(table, runs);
}

/** Shapes side by side in one free stretch. */
interface Run {
  readonly band: number;
  /** Where its row starts, across. [m] */
  readonly across: number;
  /** Where its first shape may stand: from `low` to `low + slack`. [m] */
  readonly low: number;
  readonly slack: number;
  readonly count: number;
}

function rowCount(table: BandTable, b: number, start: number, a0: number, a1: number): number {
  const band = table.bands[b]!;
  const pitch = band.length + table.gapAlong;
  let count = 0;
  for (let k = band.offsets[start]!; k < band.offsets[start + 1]!; k++) {
    const low = band.from[k]! > a0 ? band.from[k]! : a0;
    const end = band.to[k]! + table.gapAlong;
    const high = end < a1 ? end : a1;
    if (high - low >= pitch - ROUNDING) count += Math.floor((high - low + ROUNDING) / pitch);
  }
  return count * band.modules;
}

function collectRuns(table: BandTable, b: number, start: number, a0: number, a1: number, runs: Run[]): void {
  const band = table.bands[b]!;
  const pitch = band.length + table.gapAlong;
  for (let k = band.offsets[start]!; k < band.offsets[start + 1]!; k++) {
    const low = Math.max(band.from[k]!, a0);
    const high = Math.min(band.to[k]! + table.gapAlong, a1);
    const count = Math.floor((high - low + ROUNDING) / pitch);
    if (count > 0) runs.push({ band: b, across: table.starts[start]!, low, slack: Math.max(0, high - low - count * pitch), count });
  }
}

function inLine(table: BandTable, runs: readonly Run[]): PlacedRectangle[] {
  const phases = table.bands.map((_, b) => {
    const longest = runs.filter(({ band }) => band === b).reduce<Run | null>((most, run) => (run.count > (most?.count ?? 0) ? run : most), null);
    return longest ? longest.low + longest.slack / 2 : 0;
  });
  return runs.flatMap(({ band, across, low, slack, count }) => {
    const pitch = table.bands[band]!.length + table.gapAlong;
    const shift = (((phases[band]! - low) % pitch) + pitch) % pitch;
    const first = low + (shift <= slack ? shift : slack / 2);
    return Array.from({ length: count }, (_, n): PlacedRectangle => {
      const along = first + n * pitch;
      return table.along === 'x' ? { x: along, y: across, shape: band } : { x: across, y: along, shape: band };
    });
  });
}

/** The range along rows (a) and across them (c). */
const turned = (table: BandTable, { x0, y0, x1, y1 }: PackRange) =>
  table.along === 'x' ? { a0: x0, a1: x1, c0: y0, c1: y1 } : { a0: y0, a1: y1, c0: x0, c1: x1 };

function lowerBound(values: Float64Array, at: number, from: number): number {
  let low = from;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle]! < at) low = middle + 1;
    else high = middle;
  }
  return low;
}
