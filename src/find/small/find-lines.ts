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
/** Around a line found nothing else is looked for. [cells] */
const TAKEN = 4;
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
  for (let a = 0; a < ANGLES; a++) peaks.push(...peaksAlong((a * Math.PI) / ANGLES, values, columns, rows, windowCells, limit));
  peaks.sort((p, q) => Math.abs(q.score) - Math.abs(p.score));
  const taken = new Uint8Array(values.length);
  const lines: RasterLine[] = [];
  for (const peak of peaks) {
    if (lines.length >= MOST_LINES) break;
    if (taken[Math.round(peak.y) * columns + Math.round(peak.x)]) continue;
    const line = extended(peak, values, columns, rows, windowCells);
    take(line, taken, columns, rows);
    if (line.sameSide >= SAME_SIDE) lines.push({ from: line.from, to: line.to, score: peak.score });
  }
  return lines;
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
  const at = (u: number, v: number): number => {
    const [i, j] = [Math.round(u), Math.round(v)];
    return i < 0 || j < 0 || i >= columns || j >= rows ? Number.NaN : values[j * columns + i]!;
  };
  return at(x, y) - (at(x + FLANK * nx, y + FLANK * ny) + at(x - FLANK * nx, y - FLANK * ny)) / 2;
}

function peaksAlong(angle: number, values: Float32Array, columns: number, rows: number, windowCells: number, limit: number): Peak[] {
  const [dx, dy] = [Math.cos(angle), Math.sin(angle)];
  const [nx, ny] = [-dy, dx];
  const reach = Math.ceil(Math.hypot(columns, rows) / 2);
  const [mx, my] = [columns / 2, rows / 2];
  const sums = new Float64Array(2 * reach + 2);
  const counts = new Uint16Array(2 * reach + 2);
  const found: { x: number; y: number; score: number }[] = [];
  for (let offset = -reach; offset <= reach; offset++) {
    for (let t = -reach; t <= reach; t++) {
      const value = raisedAt(values, columns, rows, mx + t * dx + offset * nx, my + t * dy + offset * ny, nx, ny);
      const i = t + reach;
      sums[i + 1] = sums[i]! + (Number.isNaN(value) ? 0 : value);
      counts[i + 1] = counts[i]! + (Number.isNaN(value) ? 0 : 1);
    }
    for (let i = 0; i + windowCells < sums.length; i++) {
      const n = counts[i + windowCells]! - counts[i]!;
      if (n < 0.8 * windowCells) continue;
      const t = i + windowCells / 2 - reach;
      found.push({ x: mx + t * dx + offset * nx, y: my + t * dy + offset * ny, score: (sums[i + windowCells]! - sums[i]!) / Math.sqrt(n) });
    }
  }
  if (found.length < 50) return [];
  const scores = found.map(({ score }) => score).sort((p, q) => p - q);
  const at = (share: number): number => scores[Math.floor(share * (scores.length - 1))]!;
  const middle = at(0.5);
  const scale = (at(0.84) - at(0.16)) / 2;
  if (!(scale > 0)) return [];
  return found.flatMap(({ x, y, score }) => {
    const z = (score - middle) / scale;
    return Math.abs(z) >= limit ? [{ x, y, angle, score: z, middle, scale }] : [];
  });
}

function extended(peak: Peak, values: Float32Array, columns: number, rows: number, windowCells: number): { from: [number, number]; to: [number, number]; sameSide: number } {
  const [dx, dy] = [Math.cos(peak.angle), Math.sin(peak.angle)];
  const sign = Math.sign(peak.score);
  const valueAt = (t: number): number => raisedAt(values, columns, rows, peak.x + t * dx, peak.y + t * dy, -dy, dx);
  /** Farthest cell outward whose last few cells together still show the line. */
  const endOf = (way: 1 | -1): number => {
    let end = Math.floor(windowCells / 2);
    for (;;) {
      let [sum, n] = [0, 0];
      for (let t = end; t < end + END_CELLS; t++) {
        const value = valueAt(way * t);
        if (Number.isNaN(value)) continue;
        sum += value;
        n++;
      }
      if (n < END_CELLS - 1 || (sign * sum) / Math.sqrt(n) < END_SCORE * peak.scale) return way * end;
      end += END_CELLS - 1;
    }
  };
  const [first, last] = [endOf(-1), endOf(1)];
  let [same, all] = [0, 0];
  for (let t = first; t <= last; t++) {
    const value = valueAt(t);
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

function take({ from, to }: Pick<RasterLine, 'from' | 'to'>, taken: Uint8Array, columns: number, rows: number): void {
  const steps = Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1])) + 2 * TAKEN;
  for (let i = -TAKEN; i <= steps; i++) {
    const share = i / Math.max(1, steps - 2 * TAKEN);
    const [x, y] = [Math.round(from[0] + share * (to[0] - from[0])), Math.round(from[1] + share * (to[1] - from[1]))];
    for (let v = Math.max(0, y - TAKEN); v <= Math.min(rows - 1, y + TAKEN); v++) {
      for (let u = Math.max(0, x - TAKEN); u <= Math.min(columns - 1, x + TAKEN); u++) taken[v * columns + u] = 1;
    }
  }
}
