import { meanNearMiddle, upperMedian } from '../../../geometry/order-statistic.ts';
import { meanCovarianceInSquare, type Correlation } from '../faces/residual-correlation.ts';

/** What a point about a thing was taken for. */
export const [ROOF, TOP, SIDE] = [0, 1, 2];

/** Points of a thing and of the roof about it, across one of its sides. */
export interface AcrossSide {
  /** Outward of the thing's middle. [m] */
  readonly away: readonly number[];
  readonly kind: readonly number[];
  /** Below the top, and height of the thing there. [m] */
  readonly below: readonly number[];
  readonly full: readonly number[];
}

export interface SideShape {
  /** Where the side is thought to be, and its opposite, from the middle. [m] */
  readonly about: number;
  readonly opposite: number;
  /** Of the side as seen from above. [m] */
  readonly length: number;
  readonly round: boolean;
  readonly spacing: number;
  readonly noise: number;
  readonly correlation: Correlation;
  /** Heights at the top and at the foot of a side whose points pass for top and roof. [m] */
  readonly takenForTop: number;
  readonly takenForRoof: number;
}

export interface Side {
  readonly at: number;
  readonly sigma: number;
}

/** Half width of what is counted: farther from a side neither blur nor its own scatter reaches. [spacings, sigmas] */
const COUNTED_SPACINGS = 1.5;
const COUNTED_SIGMAS = 3;
const FEWEST_WITHIN = 12;
const FEWEST_ON_SIDE = 10;
/** A side whose points scatter more than this is none that stands upright. [of the noise] */
const UPRIGHT_SCATTER = 1.6;
/** A side is as dense within the top's band as so many times as far below it: cameras see less of its foot. */
const BELOW_TOP = 2;
/** How well. [share, one sigma] */
const SIDE_DENSITY = 0.15;
const ROUNDS = 2;

/**
 * Where a thing ends, by two ways that know nothing of each other: points of its top within so many metres, over their density
 * farther in, less what its sides add to them (count-equivalent side: blur moves points of the rim but loses none); and the
 * middle of the points that stand on the side itself. Each counts by its variance.
 *
 * @returns null where the top is too small to have a density, or too low for its sides to be told from it.
 */
export function countSide(points: AcrossSide, shape: SideShape): Side | null {
  let side: Side | null = null;
  let about = shape.about;
  for (let round = 0; round < ROUNDS; round++) {
    side = countOnce(points, { ...shape, about });
    if (!side) return null;
    about = side.at;
  }
  return side;
}

function countOnce(points: AcrossSide, shape: SideShape): Side | null {
  const { about, opposite, round, spacing, noise } = shape;
  const half = Math.max(COUNTED_SPACINGS * spacing, COUNTED_SIGMAS * noise);
  const [from, to] = [round ? 0 : half - opposite, about - half];
  if (to - from < half) return null;
  const measure = (d: number): number => (round ? Math.PI * d * d : d);
  const inner = measure(to) - (round ? 0 : from);
  const { within, strange, near, onSide, beside, height } = sorted(points, from, to, to + 2 * half, shape.takenForTop);
  if (within < FEWEST_WITHIN) return null;
  // Points of a rough top pass for such of a side as well; they lie as thick farther in.
  const notOnSide = (measure(about) - measure(to)) / inner;
  const seen = height - shape.takenForTop - shape.takenForRoof;
  if (seen < shape.takenForTop) return null;
  const perBeside = shape.takenForTop / Math.min(seen, BELOW_TOP * shape.takenForTop);
  const added = perBeside * Math.max(0, beside - strange.beside * notOnSide);
  const density = within / inner;
  const value = measure(to) + (near - added) / density;
  if (!(value > measure(to))) return null;
  const at = round ? Math.sqrt(value / Math.PI) : value;
  if (Math.abs(at - about) > half) return null;
  const ends = countVariance(points, { from, to, half }, shape);
  const perMetre = density * (round ? 2 * Math.PI * at : 1);
  const counted: Side = { at, sigma: Math.sqrt(ends + added + perBeside * perBeside * beside + (SIDE_DENSITY * added) ** 2) / perMetre };
  return joined(counted, uprightSide(onSide, strange.onSide * notOnSide, half, seen, shape));
}

/**
 * Variance of a count of the top's points over a strip as deep as the filled half of what is counted, from how strips farther in
 * differ. Points that stand one to a square of the spacing miss or fill half of those at the strip's two ends; that stands in as
 * two more strips.
 */
function countVariance({ away, kind }: AcrossSide, { from, to, half }: { from: number; to: number; half: number }, { length, spacing, round }: SideShape): number {
  const even = length / (2 * spacing);
  const strips = round ? 0 : Math.floor((to - from) / half);
  if (strips < 2) return even;
  const counts = new Float64Array(strips);
  for (let i = 0; i < away.length; i++) {
    const strip = Math.floor((to - away[i]!) / half);
    if (kind[i] === TOP && strip >= 0 && strip < strips) counts[strip]!++;
  }
  const mean = counts.reduce((sum, n) => sum + n, 0) / strips;
  return (counts.reduce((sum, n) => sum + (n - mean) ** 2, 0) + 2 * even) / (strips + 1);
}

interface Sorted {
  /** Points of the top within, and about the side. */
  readonly within: number;
  readonly near: number;
  /** Where points taken for the side's lie, how many of them just below the top's band, and the mean height of the thing about the side. */
  readonly onSide: readonly number[];
  readonly beside: number;
  readonly height: number;
  /** Points taken for the side's that lie within. */
  readonly strange: { readonly onSide: number; readonly beside: number };
}

function sorted({ away, kind, below, full }: AcrossSide, from: number, to: number, end: number, taken: number): Sorted {
  const strange = { onSide: 0, beside: 0 };
  const onSide: number[] = [];
  let [within, near, beside, height] = [0, 0, 0, 0];
  for (let i = 0; i < away.length; i++) {
    const d = away[i]!;
    if (d < from || d > end || kind[i] === ROOF) continue;
    if (kind[i] === TOP) {
      if (d < to) within++;
      else {
        near++;
        height += full[i]!;
      }
      continue;
    }
    const isBeside = below[i]! < (1 + BELOW_TOP) * taken ? 1 : 0;
    if (d < to) {
      strange.onSide++;
      strange.beside += isBeside;
    } else {
      onSide.push(d);
      beside += isBeside;
    }
  }
  return { within, near, onSide, beside, strange, height: near > 0 ? height / near : 0 };
}

/**
 * Middle of the points on a side that stands upright; null where it does not, or too few do.
 *
 * @param strange  How many of them are the top's, spread evenly over a depth within the side.
 */
function uprightSide(onSide: readonly number[], strange: number, depth: number, seen: number, { about, length, noise, correlation }: SideShape): Side | null {
  const standing = onSide.length - strange;
  if (standing < Math.max(FEWEST_ON_SIDE, onSide.length / 2)) return null;
  const middle = upperMedian(onSide);
  if (1.4826 * upperMedian(onSide.map((d) => Math.abs(d - middle))) > UPRIGHT_SCATTER * noise) return null;
  // Sides scatter sideways as roofs do upward.
  const variance = meanCovarianceInSquare(correlation, Math.sqrt(length * seen)) + correlation.alone / standing;
  const at = (onSide.length * meanNearMiddle(onSide, COUNTED_SIGMAS * noise) - strange * (about - depth / 2)) / standing;
  return { at, sigma: Math.sqrt(variance + (strange * depth * depth) / 3 / (standing * standing)) };
}

function joined(a: Side, b: Side | null): Side {
  if (!b) return a;
  const [p, q] = [1 / (a.sigma * a.sigma), 1 / (b.sigma * b.sigma)];
  return { at: (p * a.at + q * b.at) / (p + q), sigma: 1 / Math.sqrt(p + q) };
}
