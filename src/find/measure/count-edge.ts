import type { PlanLine } from '../../geometry/plan-line.ts';

/** Points near an edge in the edge's own frame. */
export interface StripPoints {
  readonly count: number;
  /** Along the edge, from the start of the strip. [m] */
  readonly along: Float64Array;
  /** Outward from the line the strip was laid on. [m] */
  readonly outward: Float64Array;
  /** Above the plane, along its normal. [m] */
  readonly above: Float64Array;
}

export interface StripShape {
  /** Length of the strip along the edge, corners left out. [m] */
  readonly length: number;
  /** Point spacing on the plane, in plan. [m] */
  readonly spacing: number;
  /** Points within this of the plane belong to it. [m] */
  readonly band: number;
  /** How far inward the strip reaches at most. [m] */
  readonly depth: number;
}

export interface CountedEdge {
  /** Edge beyond the strip's line at its middle [m], and its turn against it (positive: farther out at the far end). [rad] */
  readonly offset: number;
  readonly turn: number;
  readonly sigma: number;
  readonly sigmaTurn: number;
  /** Distance along the strip that offset belongs to. [m] */
  readonly middle: number;
  /** Bins that were used. */
  readonly bins: number;
}

/** Half width of the counted strip; must exceed the blur of the edge, and every spacing more costs scatter. [spacings] */
const COUNTED = 3;
/** Depth of the strip the density is taken from, inside the counted one. [spacings] */
const REFERENCE = 14;
const SHORTEST_BIN = 6;
const MOST_BINS = 32;
/** Bins whose inside holds less than this share of the usual are shadowed by something. */
const SHADOWED = 0.55;

/**
 * Where a plane ends: points outside an inner line, divided by the density inside it (count-equivalent edge; unlike the
 * outermost points it has no bias from spacing, and blur that moves points across the edge does not change the count).
 *
 * A board or wall below the edge, or one rising from it, adds points to the band about the plane; its density is counted
 * just below and above the band and taken off. Counted bin by bin along the edge, so that a thing on the edge shows as an
 * outlier and the scatter of the bins gives the uncertainty.
 *
 * @returns null when too little of the edge can be counted.
 */
export function countEdge(points: StripPoints, shape: StripShape): CountedEdge | null {
  let line = { offset: 0, turn: 0, middle: shape.length / 2 };
  let found: CountedEdge | null = null;
  // The strip is laid on the last answer, so a first line two or three spacings off does no harm.
  for (let round = 0; round < 3; round++) {
    found = countOnce(points, shape, line);
    if (!found) return null;
    line = found;
  }
  return found;
}

function countOnce(points: StripPoints, { length, spacing, band, depth }: StripShape, about: { offset: number; turn: number; middle: number }): CountedEdge | null {
  const half = COUNTED * spacing;
  const reference = Math.min(REFERENCE * spacing, depth - half);
  const bins = Math.min(MOST_BINS, Math.floor(length / (SHORTEST_BIN * spacing)));
  if (bins < 2 || reference < 3 * spacing) return null;
  const size = length / bins;
  const outer = new Float64Array(bins);
  const inside = new Float64Array(bins);
  const beside = new Float64Array(bins);
  for (let i = 0; i < points.count; i++) {
    const along = points.along[i]!;
    if (along < 0 || along >= length) continue;
    const away = points.outward[i]! - about.offset - about.turn * (along - about.middle);
    if (away > half || away < -half - reference) continue;
    const bin = Math.min(bins - 1, Math.floor(along / size));
    const height = Math.abs(points.above[i]!);
    if (height <= band) {
      if (away > -half) outer[bin]!++;
      else inside[bin]!++;
    } else if (height <= 2 * band && away > -half) beside[bin]!++;
  }
  const usual = median(inside);
  if (!(usual > 2)) return null;
  let [sumInside, sumBeside, used] = [0, 0, 0];
  for (let b = 0; b < bins; b++) {
    if (inside[b]! < SHADOWED * usual) continue;
    sumInside += inside[b]!;
    sumBeside += beside[b]!;
    used++;
  }
  if (used < 2) return null;
  const density = sumInside / (used * size * reference);
  // A wall through the band holds as many points in it as in the equal height above and below together.
  const wall = sumBeside / (used * size * density);
  const offsets: number[] = [];
  const places: number[] = [];
  for (let b = 0; b < bins; b++) {
    if (inside[b]! < SHADOWED * usual) continue;
    offsets.push(outer[b]! / (density * size) - half - wall);
    places.push((b + 0.5) * size);
  }
  const fitted = robustLine(places, offsets, spacing);
  if (!fitted) return null;
  // Density and wall are one number for all bins, so their counting errors do not show in the scatter of the bins.
  const common = Math.hypot(Math.sqrt(sumBeside) / (used * size * density), half / Math.sqrt(sumInside));
  return {
    offset: about.offset + about.turn * (fitted.middle - about.middle) + fitted.offset,
    turn: about.turn + fitted.turn,
    sigma: Math.hypot(fitted.sigma, common),
    sigmaTurn: fitted.sigmaTurn,
    middle: fitted.middle,
    bins: fitted.count,
  };
}

/** Straight line through bin offsets; bins more than three robust sigmas off are left out. */
function robustLine(places: readonly number[], offsets: readonly number[], spacing: number): (CountedEdge & { count: number }) | null {
  let use = places.map((_, i) => i);
  let line = { offset: median(offsets), turn: 0, middle: places.reduce((a, b) => a + b, 0) / places.length };
  for (let round = 0; round < 4; round++) {
    const residuals = places.map((t, i) => offsets[i]! - line.offset - line.turn * (t - line.middle));
    const scale = Math.max(0.15 * spacing, 1.4826 * median(residuals.map(Math.abs)));
    use = places.map((_, i) => i).filter((i) => Math.abs(residuals[i]!) <= 3 * scale);
    if (use.length < 2) return null;
    line = ordinaryLine(use.map((i) => places[i]!), use.map((i) => offsets[i]!));
  }
  const n = use.length;
  const mean = line.middle;
  let [squares, spread] = [0, 0];
  for (const i of use) {
    squares += (offsets[i]! - line.offset - line.turn * (places[i]! - mean)) ** 2;
    spread += (places[i]! - mean) ** 2;
  }
  // Few bins tell little of their own scatter: a third of a spacing a bin stands in as two more of them.
  const expected = (0.33 * spacing) ** 2;
  const variance = (squares + 2 * expected) / Math.max(1, n - 2 + 2);
  return {
    ...line, bins: n, count: n,
    sigma: Math.sqrt(variance / n),
    sigmaTurn: spread > 0 ? Math.sqrt(variance / spread) : 0.1,
  };
}

function ordinaryLine(places: readonly number[], offsets: readonly number[]): { offset: number; turn: number; middle: number } {
  const n = places.length;
  const middle = places.reduce((a, b) => a + b, 0) / n;
  const offset = offsets.reduce((a, b) => a + b, 0) / n;
  let [spread, product] = [0, 0];
  for (let i = 0; i < n; i++) {
    spread += (places[i]! - middle) ** 2;
    product += (places[i]! - middle) * (offsets[i]! - offset);
  }
  // Two or three bins fix a direction worse than the raster did.
  return { offset, turn: n >= 4 && spread > 0 ? product / spread : 0, middle };
}

function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  return n === 0 ? 0 : n % 2 === 1 ? sorted[n >> 1]! : (sorted[n / 2 - 1]! + sorted[n / 2]!) / 2;
}

/** The line moved outward and turned as counted; outward is on the right of its direction. */
export function movedLine(line: PlanLine, start: number, counted: CountedEdge): PlanLine {
  const [dx, dy] = line.direction;
  const along = start + counted.middle;
  const at: [number, number] = [line.at[0] + along * dx + counted.offset * dy, line.at[1] + along * dy - counted.offset * dx];
  const [c, s] = [Math.cos(counted.turn), Math.sin(counted.turn)];
  // Farther out at the far end, outward being right: a clockwise turn.
  return { at, direction: [dx * c + dy * s, dy * c - dx * s] };
}
