import type { PlanLine } from '../../../geometry/plan-line.ts';
import { cos, log, sin } from '../../../geometry/same-math.ts';

/** Points near an edge in the edge's own frame. */
export interface StripPoints {
  readonly count: number;
  /** Along the edge, from the start of the strip. [m] */
  readonly along: Float64Array;
  /**
   * Outward from the line the strip was laid on; where the plane leans out over its edge, of the point's foot on the plane,
   * which noise along the normal does not move. [m]
   */
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
  /** How far inward the plane reaches from the strip's line, at places evenly along it. [m] */
  readonly depths: Float64Array;
  /** Outward part of the plane's unit normal: its lean over the edge, the sine of the pitch at an eave. [-] */
  readonly lean: number;
  /** Upward part of the plane's unit normal, the cosine of the pitch. [-] */
  readonly upright: number;
}

export interface CountedEdge {
  /** Edge beyond the strip's line at its middle [m], and its turn against it (positive: farther out at the far end). [rad] */
  readonly offset: number;
  readonly turn: number;
  readonly sigma: number;
  readonly sigmaTurn: number;
  /** What is not known of a board below the edge: one sigma, the same on all sides of a roof. [m] */
  readonly bias: number;
  /** Distance along the strip that offset belongs to. [m] */
  readonly middle: number;
  /** Bins that were used. */
  readonly bins: number;
}

/** Half width of the counted strip; must exceed the blur of the edge, and every spacing more costs scatter. [spacings] */
const COUNTED = 3;
const LEAST_COUNTED = 1.2;
/** Depth of the strip the density is taken from, inside the counted one. [spacings] */
const REFERENCE = 14;
const SHORTEST_BIN = 6;
/** Short edges have at least two bins, of so much at least. [spacings] */
const LEAST_BIN = 2.5;
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
  if (!found || !leansOver(shape)) return found;
  const board = boardShare(points, shape, found);
  return { ...found, offset: found.offset - board.shift, bias: board.sigma };
}

/** Half width of the counted strip: less on a shallow plane, which needs some depth for its density. [m] */
function countedHalf({ spacing, depths }: StripShape): number {
  return spacing * Math.max(LEAST_COUNTED, Math.min(COUNTED, median(depths) / spacing / 3));
}

/** Below the edge of a steep plane a board stays in the band as far as this from the edge, and shows in the strip. [spacings] */
const BOARD_REACH = 1;

/** True where the plane leans out over its edge so far that what hangs below shows beside the edge, in feet on the plane. */
export const leansOver = ({ band, lean, spacing }: Pick<StripShape, 'band' | 'lean' | 'spacing'>): boolean => band * lean > BOARD_REACH * spacing;

/** Reference strips shallower than this are not used. [spacings] */
const SHALLOWEST = 1.5;
/** A plane's far border is not exact to this. [spacings] */
const FAR_BORDER = 1;

/** Depth of the reference strip inside the counted one, bin by bin: no deeper than the plane. [m] */
function referenceDepths(shape: StripShape, bins: number, about: { offset: number; turn: number; middle: number }): Float64Array {
  const { length, spacing, depths } = shape;
  const least = new Float64Array(bins).fill(Infinity);
  depths.forEach((depth, i) => {
    const along = ((i + 0.5) / depths.length) * length;
    const bin = Math.min(bins - 1, Math.floor((along / length) * bins));
    least[bin] = Math.min(least[bin]!, depth + about.offset + about.turn * (along - about.middle));
  });
  return least.map((depth) => Math.min(REFERENCE * spacing, depth - countedHalf(shape) - FAR_BORDER * spacing));
}

function countOnce(points: StripPoints, shape: StripShape, about: { offset: number; turn: number; middle: number }): CountedEdge | null {
  const { length, spacing, band } = shape;
  const half = countedHalf(shape);
  const bins = Math.min(MOST_BINS, Math.max(2, Math.floor(length / (SHORTEST_BIN * spacing))));
  if (length < bins * LEAST_BIN * spacing) return null;
  const size = length / bins;
  const reference = referenceDepths(shape, bins, about);
  const depth = leansOver(shape) ? band : besideDepth(shape);
  const outer = new Float64Array(bins);
  const inside = new Float64Array(bins);
  const beside = new Float64Array(bins);
  for (let i = 0; i < points.count; i++) {
    const along = points.along[i]!;
    if (along < 0 || along >= length) continue;
    const away = points.outward[i]! - about.offset - about.turn * (along - about.middle);
    const bin = Math.min(bins - 1, Math.floor(along / size));
    if (away > half || away < -half - reference[bin]!) continue;
    const height = Math.abs(points.above[i]!);
    if (height <= band) {
      if (away > -half) outer[bin]!++;
      else inside[bin]!++;
    } else if (height <= band + depth && away > -half) beside[bin]!++;
  }
  const densities = inside.map((n, b) => (reference[b]! >= SHALLOWEST * spacing ? n / (size * reference[b]!) : NaN));
  const usual = median(densities.filter((density) => density >= 0));
  if (!(usual > 0)) return null;
  const use = Array.from(densities.keys()).filter((b) => densities[b]! >= SHADOWED * usual);
  if (use.length < 2) return null;
  const [sumInside, sumBeside, area] = use.reduce(([n, m, a], b) => [n + inside[b]!, m + beside[b]!, a + size * reference[b]!], [0, 0, 0]);
  if (!(sumInside > 2 * use.length)) return null;
  const density = sumInside / area;
  const used = use.length;
  // A wall through the band holds as many points in it as in the equal height above and below together.
  const perPoint = band / depth / (used * size * density);
  const seen = sumBeside * perPoint;
  const hidden = leansOver(shape) ? NOTHING_HIDDEN : hiddenBoard(shape, seen);
  const wall = leansOver(shape) ? 0 : seen + hidden.shift;
  const offsets = use.map((b) => outer[b]! / (density * size) - half - wall);
  const places = use.map((b) => (b + 0.5) * size);
  const fitted = robustLine(places, offsets, spacing);
  if (!fitted) return null;
  // Density and wall are one number for all bins, so their counting errors do not show in the scatter of the bins.
  const common = Math.hypot(Math.sqrt(sumBeside) * perPoint, half * densityScatter(use.map((b) => densities[b]!), sumInside));
  return {
    offset: about.offset + about.turn * (fitted.middle - about.middle) + fitted.offset,
    turn: about.turn + fitted.turn,
    sigma: Math.hypot(fitted.sigma, common),
    sigmaTurn: fitted.sigmaTurn,
    bias: hidden.sigma,
    middle: fitted.middle,
    bins: fitted.count,
  };
}

/**
 * Relative scatter of the mean density, from how bins differ. Points that stand about one to a pixel are spread more evenly than
 * independent ones, whose counts would scatter by their roots; that stands in as two more bins.
 */
function densityScatter(densities: readonly number[], count: number): number {
  const n = densities.length;
  const mean = densities.reduce((sum, density) => sum + density, 0) / n;
  const squares = densities.reduce((sum, density) => sum + (density / mean - 1) ** 2, 0);
  return Math.sqrt((squares + (2 * n) / count) / (n + 1) / n);
}

/** Width of the bins in which the board is told from the roof. [spacings] */
const FINE_BIN = 0.1;
/** A board is less dense than the roof above it, being seen in oblique pictures only; what is not is the roof itself. [share] */
const BOARD_DENSITY = 0.85;
/** Depth of a fascia board (common practice, no source), and what of it counts at half the roof's density. [m] */
const BOARD_DEPTH = 0.15;
const UNSEEN_BOARD = 0.5 * BOARD_DEPTH;

const NOTHING_HIDDEN = { shift: 0, sigma: 0 } as const;

/** Where less than this share of the band is left of a board below it, nothing of the board can be seen. */
const TOO_LITTLE_SHOWN = 0.25;

/** How far above and below the band the points of a wall are counted: no deeper than a board reaches, if any of it shows there. [m] */
function besideDepth({ band, upright }: Pick<StripShape, 'band' | 'upright'>): number {
  const shown = BOARD_DEPTH * upright - band;
  return shown < TOO_LITTLE_SHOWN * band ? band : Math.min(band, shown);
}

/**
 * What a board below the edge may add to the count beside what `seen` says of walls: the band of a thin cloud swallows it whole,
 * and below the band nothing of it is left to see. Then it is there or not: half of it is taken off, and half is the scatter.
 */
function hiddenBoard({ band, upright }: StripShape, seen: number): { shift: number; sigma: number } {
  const reach = BOARD_DEPTH * upright;
  if (reach - band >= TOO_LITTLE_SHOWN * band) return NOTHING_HIDDEN;
  const half = Math.max(0, UNSEEN_BOARD * Math.min(1, band / reach) - seen) / 2;
  return { shift: half, sigma: half };
}

/**
 * What an upright board below the edge adds to the count, as a shift of the edge. The plane leans over so far that the board
 * keeps within its band; but the feet of its points lie beyond the edge, at another density. The most likely place of the
 * step from the roof's density to the board's, and of the board's end, of all pairs of bins (Poisson counts). Where a spacing
 * swallows the board, it is there or not: half of it is taken off, and half is the scatter.
 */
function boardShare(points: StripPoints, shape: StripShape, about: CountedEdge): { shift: number; sigma: number } {
  const { length, spacing, band, depths, lean } = shape;
  const unseen = UNSEEN_BOARD * Math.sqrt(1 - lean * lean) * lean;
  const bin = FINE_BIN * spacing;
  const half = countedHalf(shape);
  // Where the plane is shallow for a stretch, all of it is looked at no deeper.
  const depth = median(depths) + about.offset - FAR_BORDER * spacing;
  const inner = Math.max(half + SHALLOWEST * spacing, Math.min(half + REFERENCE * spacing, depth));
  const outer = half + 2 * band * lean;
  const counts = new Float64Array(Math.ceil((inner + outer) / bin));
  let beside = 0;
  for (let i = 0; i < points.count; i++) {
    const along = points.along[i]!;
    const height = Math.abs(points.above[i]!);
    if (along < 0 || along >= length || height > 2 * band) continue;
    const away = points.outward[i]! - about.offset - about.turn * (along - about.middle);
    if (height > band) {
      if (away > -half && away < outer) beside++;
      continue;
    }
    const k = Math.floor((away + inner) / bin);
    if (k >= 0 && k < counts.length) counts[k]!++;
  }
  const sums = new Float64Array(counts.length + 1);
  counts.forEach((n, k) => (sums[k + 1] = sums[k]! + n));
  const zero = Math.round(inner / bin);
  const reach = Math.round(half / bin);
  const roof = sums[zero - reach]! / (zero - reach);
  if (!(roof > 0)) return { shift: 0, sigma: 0 };
  // Strays lie beyond the board as everywhere.
  const stray = Math.max(0.005 * roof, 1e-9);
  const cost = (from: number, to: number, density: number): number =>
    (to - from) * density - (sums[to]! - sums[from]!) * log(density);
  let [best, share] = [cost(zero - reach, counts.length, stray), 0];
  for (let edge = zero - reach; edge <= zero + reach; edge++) {
    const upToEdge = cost(zero - reach, edge, roof);
    for (let end = edge; end < counts.length; end++) {
      const density = end > edge ? (sums[end]! - sums[edge]!) / (end - edge) : stray;
      if (density > BOARD_DENSITY * roof || (end > edge && density < 4 * stray)) continue;
      const total = upToEdge + cost(edge, end, Math.max(density, stray)) + cost(end, counts.length, stray);
      if (total >= best) continue;
      best = total;
      share = (sums[Math.min(end, zero + reach)]! - sums[Math.min(edge, zero + reach)]!) / roof;
    }
  }
  // A wall goes on below the band, and is no less dense there.
  share = Math.max(share, beside / roof);
  if (share === 0 && BOARD_DEPTH * Math.sqrt(1 - lean * lean) * lean < spacing) return { shift: unseen / 2, sigma: unseen / 2 };
  return { shift: share * bin, sigma: 0 };
}

/** Straight line through bin offsets; bins more than three robust sigmas off are left out. */
function robustLine(places: readonly number[], offsets: readonly number[], spacing: number): (Omit<CountedEdge, 'bias'> & { count: number }) | null {
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
  const [c, s] = [cos(counted.turn), sin(counted.turn)];
  // Farther out at the far end, outward being right: a clockwise turn.
  return { at, direction: [dx * c + dy * s, dy * c - dx * s] };
}
