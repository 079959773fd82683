import { cos, sin } from '../../geometry/same-math.ts';
/** A straight faint line in a raster, by its ends in cells. */
export interface RasterLine {
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
  /** Strength of its best window; negative for a groove. [sigmas of such windows on this raster] */
  readonly score: number;
}

const ANGLES = 24;
/** Flanks a line is compared with, in cells from it: bends of the roof lift them alike. */
const FLANK = 3;
/** Share of a line's cells that must lie on its side of the flanks. */
const SAME_SIDE = 0.7;
/** Windows at the ends that still belong. [sigmas, cells] */
const END_SCORE = 2.5;
const END_CELLS = 5;
/** Beside a line nothing else is looked for, its flanks least of all, nor half a window beyond its ends. [cells] */
const TAKEN = 7;
const MOST_LINES = 20;

/**
 * Lines too faint for any one cell: means over windows along every direction, each cell less its flanks, against the scatter
 * of such windows on the same raster, so that correlated noise raises the limit by itself (matched filter for a line).
 *
 * @param values  Heights in sigmas of a cell, clipped; NaN where nothing is to be judged.
 * @param windowCells  Least length looked for.
 * @param limit  [sigmas]
 */
export function findLines(values: Float32Array, columns: number, rows: number, windowCells: number, limit: number): RasterLine[] {
  const peaks: Peak[] = [];
  const raster = padded(values, columns, rows);
  const scores = new Float32Array((2 * reachOf(columns, rows) + 1) ** 2);
  for (let a = 0; a < ANGLES; a++) for (const peak of peaksAlong((a * Math.PI) / ANGLES, raster, columns, rows, windowCells, limit, scores)) peaks.push(peak);
  peaks.sort((p, q) => Math.abs(q.score) - Math.abs(p.score));
  const taken = new Uint8Array(values.length);
  const lines: RasterLine[] = [];
  for (const peak of peaks) {
    if (lines.length >= MOST_LINES) break;
    if (taken[Math.round(peak.y) * columns + Math.round(peak.x)]) continue;
    const line = extended(refined(peak, values, columns, rows, windowCells), values, columns, rows, windowCells);
    take(line, taken, columns, rows, Math.ceil(windowCells / 2));
    if (line.sameSide >= SAME_SIDE) lines.push({ from: line.from, to: line.to, score: peak.score });
  }
  return joinedInLine(lines, windowCells);
}

/** Pieces this far off each other's line, and this far apart along it, are one. [cells, windows] */
const OFF_LINE = 3;
const LARGEST_GAP = 1;

/** Joins pieces of one line, the strongest first. */
function joinedInLine(lines: readonly RasterLine[], windowCells: number): RasterLine[] {
  const joined: RasterLine[] = [];
  for (const line of lines) {
    const at = joined.findIndex((other) => Math.sign(other.score) === Math.sign(line.score) && isInLine(longer(other, line), shorter(other, line), LARGEST_GAP * windowCells));
    if (at < 0) joined.push(line);
    else joined[at] = spanOf(joined[at]!, line);
  }
  return joined;
}

const lengthOf = ({ from, to }: RasterLine): number => Math.hypot(to[0] - from[0], to[1] - from[1]);
const longer = (a: RasterLine, b: RasterLine): RasterLine => (lengthOf(a) >= lengthOf(b) ? a : b);
const shorter = (a: RasterLine, b: RasterLine): RasterLine => (lengthOf(a) >= lengthOf(b) ? b : a);

/** Place of a point along a line and beside it. [cells] */
function placeOn(line: RasterLine, [x, y]: readonly [number, number]): { along: number; beside: number } {
  const length = lengthOf(line);
  const [dx, dy] = [(line.to[0] - line.from[0]) / length, (line.to[1] - line.from[1]) / length];
  return { along: (x - line.from[0]) * dx + (y - line.from[1]) * dy, beside: (y - line.from[1]) * dx - (x - line.from[0]) * dy };
}

function isInLine(line: RasterLine, piece: RasterLine, gap: number): boolean {
  const ends = [placeOn(line, piece.from), placeOn(line, piece.to)];
  const [first, last] = [Math.min(ends[0]!.along, ends[1]!.along), Math.max(ends[0]!.along, ends[1]!.along)];
  return ends.every(({ beside }) => Math.abs(beside) <= OFF_LINE) && first <= lengthOf(line) + gap && last >= -gap;
}

/** The two ends that lie farthest apart along the longer of two lines. */
function spanOf(a: RasterLine, b: RasterLine): RasterLine {
  const line = longer(a, b);
  const ends = [a.from, a.to, b.from, b.to].sort((p, q) => placeOn(line, p).along - placeOn(line, q).along);
  return { from: ends[0]!, to: ends[3]!, score: Math.abs(a.score) >= Math.abs(b.score) ? a.score : b.score };
}

interface Peak {
  readonly x: number;
  readonly y: number;
  readonly angle: number;
  readonly score: number;
  /** Mean and scatter of a window's score in this direction. */
  readonly middle: number;
  readonly scale: number;
}

/** Value of a cell less the mean of its flanks; NaN where one of the three is missing. */
function raisedAt(values: Float32Array, columns: number, rows: number, x: number, y: number, nx: number, ny: number): number {
  const here = valueAt(values, columns, rows, x, y);
  // Most of a building's box is no roof to be judged, and its flanks need not be looked at.
  if (here !== here) return here;
  return (
    here -
    (valueAt(values, columns, rows, x + FLANK * nx, y + FLANK * ny) + valueAt(values, columns, rows, x - FLANK * nx, y - FLANK * ny)) / 2
  );
}

function valueAt(values: Float32Array, columns: number, rows: number, x: number, y: number): number {
  const i = Math.round(x);
  const j = Math.round(y);
  return i < 0 || j < 0 || i >= columns || j >= rows ? Number.NaN : values[j * columns + i]!;
}

/** Least share of a window that must be known, and of all windows looked at for their scatter one in so many. */
const KNOWN = 0.8;
const EVERY = 7;

/** Raster of heights with a margin all round, so that flanks need no test of where they lie. */
interface Padded {
  readonly cells: Float32Array;
  readonly width: number;
  /** Least and greatest column and row that hold a height. */
  readonly box: readonly [number, number, number, number];
}

function padded(values: Float32Array, columns: number, rows: number): Padded {
  const margin = FLANK + 1;
  const width = columns + 2 * margin;
  const cells = new Float32Array(width * (rows + 2 * margin)).fill(Number.NaN);
  let left = columns;
  let right = -1;
  let bottom = rows;
  let top = -1;
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const value = values[y * columns + x]!;
      if (value !== value) continue;
      cells[(y + margin) * width + x + margin] = value;
      if (x < left) left = x;
      if (x > right) right = x;
      if (y < bottom) bottom = y;
      top = y;
    }
  }
  return { cells, width, box: [left, right, bottom, top] };
}

/** Steps i of a line o + i d that lie between two bounds, a step more at either end for rounding. */
function stepsWithin(o: number, d: number, least: number, most: number): readonly [number, number] {
  if (Math.abs(d) < 1e-9) return o >= least - 1 && o <= most + 1 ? [-Infinity, Infinity] : [Infinity, -Infinity];
  const [a, b] = [(least - o) / d, (most - o) / d];
  return a < b ? [a - 1, b + 1] : [b - 1, a + 1];
}

function peaksAlong(angle: number, { cells, width, box }: Padded, columns: number, rows: number, windowCells: number, limit: number, scores: Float32Array): Peak[] {
  const [dx, dy] = [cos(angle), sin(angle)];
  const [mx, my] = [columns / 2, rows / 2];
  const reach = reachOf(columns, rows);
  const length = 2 * reach + 1;
  const margin = FLANK + 1;
  const [left, right, bottom, top] = box;
  scores.fill(Number.NaN);
  const sums = new Float64Array(length + 1);
  const counts = new Uint32Array(length + 1);
  for (let line = 0; line < length; line++) {
    const ox = mx - (line - reach) * dy;
    const oy = my + (line - reach) * dx;
    // Only the stretch over cells with heights; a cell's number is its middle rounded, so half a cell more.
    const [a, b] = stepsWithin(ox, dx, left - 0.5, right + 0.5);
    const [c, d] = stepsWithin(oy, dy, bottom - 0.5, top + 0.5);
    const first = Math.max(0, Math.floor(Math.max(a, c)) + reach);
    const last = Math.min(length - 1, Math.ceil(Math.min(b, d)) + reach);
    if (!(last >= first)) continue;
    sums[first] = 0;
    counts[first] = 0;
    for (let i = first; i <= last; i++) {
      const x = ox + (i - reach) * dx;
      const y = oy + (i - reach) * dy;
      let value = Number.NaN;
      if (x >= 0 && y >= 0 && x < columns && y < rows) {
        value = cells[(Math.round(y) + margin) * width + Math.round(x) + margin]!;
        // Most of a building's box is no roof to be judged, and its flanks need not be looked at.
        if (value === value) {
          const above = cells[(Math.round(y + FLANK * dx) + margin) * width + Math.round(x + FLANK * -dy) + margin]!;
          const below = cells[(Math.round(y - FLANK * dx) + margin) * width + Math.round(x - FLANK * -dy) + margin]!;
          value -= (above + below) / 2;
        }
      }
      const isKnown = value === value;
      sums[i + 1] = sums[i]! + (isKnown ? value : 0);
      counts[i + 1] = counts[i]! + (isKnown ? 1 : 0);
    }
    // Beyond the stretch nothing is added.
    const end = Math.min(length, last + windowCells);
    sums.fill(sums[last + 1]!, last + 2, end + 1);
    counts.fill(counts[last + 1]!, last + 2, end + 1);
    const start = Math.max(0, first - windowCells + 1);
    for (let i = start; i <= last && i + windowCells <= length; i++) {
      const n = counts[i + windowCells]! - (i < first ? 0 : counts[i]!);
      if (n >= KNOWN * windowCells) scores[line * length + i] = (sums[i + windowCells]! - (i < first ? 0 : sums[i]!)) / Math.sqrt(n);
    }
  }
  const spread = spreadOf(scores);
  if (!spread) return [];
  const { middle, scale } = spread;
  const peaks: Peak[] = [];
  for (let at = 0; at < scores.length; at++) {
    const score = (scores[at]! - middle) / scale;
    if (!(Math.abs(score) >= limit)) continue;
    const [offset, along] = [Math.floor(at / length) - reach, (at % length) + (windowCells - 1) / 2 - reach];
    peaks.push({ x: mx + along * dx - offset * dy, y: my + along * dy + offset * dx, angle, score, middle, scale });
  }
  return peaks;
}

/** Cells from the middle of a raster to its corners. */
const reachOf = (columns: number, rows: number): number => Math.ceil(Math.hypot(columns, rows) / 2);

const FEWEST_WINDOWS = 50;

/** Median of the scores and half the width of their middle 68 %. */
function spreadOf(scores: Float32Array): { middle: number; scale: number } | null {
  const some: number[] = [];
  for (let i = 0; i < scores.length; i += EVERY) if (!Number.isNaN(scores[i]!)) some.push(scores[i]!);
  if (some.length < FEWEST_WINDOWS) return null;
  const sorted = Float32Array.from(some).sort();
  const at = (share: number): number => sorted[Math.floor(share * (sorted.length - 1))]!;
  const scale = (at(0.84) - at(0.16)) / 2;
  return scale > 0 ? { middle: at(0.5), scale } : null;
}

/** Steps of angle and offset tried about a peak, in cells at the end of the stretch looked at. */
const TRIALS = [-1.5, -1, -0.5, 0, 0.5, 1, 1.5] as const;

/** The directions tried lie some degrees apart: turns and shifts a peak to where longer and longer stretches are strongest. */
function refined(peak: Peak, values: Float32Array, columns: number, rows: number, windowCells: number): Peak {
  const sign = Math.sign(peak.score);
  let best = peak;
  for (const half of [windowCells / 2, windowCells, 2 * windowCells]) {
    const { x, y, angle } = best;
    let most = -Infinity;
    for (const turn of TRIALS) {
      const tried = angle + turn / half;
      const [dx, dy] = [cos(tried), sin(tried)];
      for (const shift of TRIALS) {
        const [ox, oy] = [x - shift * dy, y + shift * dx];
        let [sum, n] = [0, 0];
        for (let t = -Math.round(half); t <= half; t++) {
          const value = raisedAt(values, columns, rows, ox + t * dx, oy + t * dy, -dy, dx);
          if (Number.isNaN(value)) continue;
          sum += value;
          n++;
        }
        const score = n > 0 ? (sign * sum) / Math.sqrt(n) : -Infinity;
        if (score <= most) continue;
        most = score;
        best = { ...peak, x: ox, y: oy, angle: tried };
      }
    }
  }
  return best;
}

function extended(peak: Peak, values: Float32Array, columns: number, rows: number, windowCells: number): { from: [number, number]; to: [number, number]; sameSide: number } {
  const [dx, dy] = [cos(peak.angle), sin(peak.angle)];
  const sign = Math.sign(peak.score);
  const raised = (t: number): number => raisedAt(values, columns, rows, peak.x + t * dx, peak.y + t * dy, -dy, dx);
  /** Farthest cell outward whose last few cells together still show the line; two gaps in a row end it. */
  const endOf = (way: 1 | -1): number => {
    let end = Math.floor(windowCells / 2);
    for (let start = end, gaps = 0; gaps < 2; start += END_CELLS - 1) {
      let [sum, n] = [0, 0];
      for (let t = start; t < start + END_CELLS; t++) {
        const value = raised(way * t);
        if (Number.isNaN(value)) continue;
        sum += value;
        n++;
      }
      const shows = n >= END_CELLS - 1 && (sign * sum) / Math.sqrt(n) >= END_SCORE * peak.scale;
      gaps = shows ? 0 : gaps + 1;
      if (shows) end = start + END_CELLS - 1;
    }
    return way * end;
  };
  const [first, last] = [endOf(-1), endOf(1)];
  let [same, all] = [0, 0];
  for (let t = first; t <= last; t++) {
    const value = raised(t);
    if (Number.isNaN(value)) continue;
    all++;
    if (sign * value > 0) same++;
  }
  return {
    from: [peak.x + first * dx, peak.y + first * dy],
    to: [peak.x + last * dx, peak.y + last * dy],
    sameSide: all > 0 ? same / all : 0,
  };
}

function take({ from, to }: Pick<RasterLine, 'from' | 'to'>, taken: Uint8Array, columns: number, rows: number, beyond: number): void {
  const length = Math.max(1, Math.hypot(to[0] - from[0], to[1] - from[1]));
  for (let t = -beyond; t <= length + beyond; t++) {
    const [x, y] = [Math.round(from[0] + (t / length) * (to[0] - from[0])), Math.round(from[1] + (t / length) * (to[1] - from[1]))];
    for (let v = Math.max(0, y - TAKEN); v <= Math.min(rows - 1, y + TAKEN); v++) {
      for (let u = Math.max(0, x - TAKEN); u <= Math.min(columns - 1, x + TAKEN); u++) taken[v * columns + u] = 1;
    }
  }
}
