import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';

/** Sums of products of residuals a given distance apart, for one face. */
export interface LagSums {
  /** Residual sums of cell pairs multiplied, and their point counts multiplied; one entry a lag. */
  readonly products: Float64Array;
  readonly pairs: Float64Array;
  /** Squared residual sums of single cells over the point count: variance of a point with its cell mates. [m²] */
  readonly cellVariance: number;
  /** Mean square residual of single points. [m²] */
  readonly pointVariance: number;
  readonly pointCount: number;
  /** Points weighted mean count of a used cell. */
  readonly perCell: number;
  /** Plan area of the used cells. [m²] */
  readonly area: number;
}

/** How residuals of one face go together, by distance. */
export interface Correlation {
  /** Distances [m] and covariance of two points that far apart [m²]; zero beyond the last. */
  readonly distances: Float64Array;
  readonly covariance: Float64Array;
  /** Variance that is not shared with points of other cells. [m²] */
  readonly alone: number;
  /** Distance at which two points' covariance has fallen to 1/e of their variance; under a cell it is hardly known. [m] */
  readonly length: number;
  /** How many times a sum's variance exceeds that of independent residuals. At least 1. */
  readonly inflation: number;
}

/** Lags in cells, apart by about a square root of two: the integral over a smooth curve needs no more. */
export const LAGS = [1, 2, 3, 4, 6, 8, 11, 16, 22, 32, 45, 64, 90, 128, 181] as const;
/** Own residuals tell of lags up to this share of a face's width, all faces together of those up to the second. */
const OWN_REACH = 0.15;
const POOLED_REACH = 0.4;
/**
 * Below this share of the first lag the curve is noise and is cut off. Long waves of a fiftieth of the variance over a
 * few metres still rule the slope of a plane, so the share is small; the first lag at or below zero ends the curve anyway.
 */
const CUT_OFF = 0.003;

/**
 * Correlation of each face's residuals, long distances pooled over the faces of a building (methods E; the factor is the
 * integral of the autocorrelation over the plane times the density). A fit takes some of the long waves away with it:
 * the mean share, 3 F² sigma² / N, is put back on every lag.
 */
export function correlations(faces: readonly LagSums[], step: number): Correlation[] {
  const distances = Float64Array.from(LAGS, (lag) => lag * step);
  let inflations = faces.map(() => 1);
  let result: Correlation[] = [];
  for (let round = 0; round < 5; round++) {
    const shares = faces.map((face, i) => (face.pointCount > 0 ? Math.min(0.2, (3 * inflations[i]!) / face.pointCount) : 0));
    const pooled = pooledCorrelation(faces, shares, distances);
    result = faces.map((face, i) => correlationOf(face, shares[i]!, pooled, distances, step));
    inflations = result.map((one) => one.inflation);
  }
  return result;
}

const widthOf = (face: LagSums): number => Math.sqrt(face.area);

function pooledCorrelation(faces: readonly LagSums[], shares: readonly number[], distances: Float64Array): Float64Array {
  const pooled = new Float64Array(distances.length);
  for (let j = 0; j < pooled.length; j++) {
    let [sum, weight] = [0, 0];
    faces.forEach((face, i) => {
      if (face.pointVariance <= 0 || face.pairs[j]! <= 0 || distances[j]! > POOLED_REACH * widthOf(face)) return;
      sum += face.products[j]! / face.pointVariance + shares[i]! * face.pairs[j]!;
      weight += face.pairs[j]!;
    });
    pooled[j] = weight > 0 ? sum / weight : 0;
  }
  return pooled;
}

function correlationOf(face: LagSums, share: number, pooled: Float64Array, distances: Float64Array, step: number): Correlation {
  const covariance = new Float64Array(distances.length);
  for (let j = 0; j < distances.length; j++) {
    const own = face.pairs[j]! > 0 && distances[j]! <= Math.max(OWN_REACH * widthOf(face), 1.5 * step);
    covariance[j] = own ? face.products[j]! / face.pairs[j]! + share * face.pointVariance : pooled[j]! * face.pointVariance;
  }
  const first = Math.max(0, covariance[0]!);
  let last = 0;
  while (last < covariance.length && covariance[last]! > CUT_OFF * first && covariance[last]! > 0) last++;
  covariance.fill(0, last);
  const alone = Math.max(face.cellVariance - face.perCell * first, 0.2 * face.pointVariance * (first > 0 ? 1 : 5), 0);
  const perArea = face.area > 0 ? face.pointCount / face.area : 0;
  const together = alone + perArea * planeIntegral(distances, covariance);
  return {
    distances,
    covariance,
    alone,
    length: lengthOf(distances, covariance, face.pointVariance),
    inflation: face.pointVariance > 0 ? Math.max(1, together / face.pointVariance) : 1,
  };
}

/** Integral of a function of distance over the plane, constant inside the first distance, linear between. [m⁴] */
function planeIntegral(distances: Float64Array, covariance: Float64Array): number {
  let sum = Math.PI * distances[0]! ** 2 * covariance[0]!;
  for (let j = 1; j < distances.length; j++) {
    const [a, b] = [distances[j - 1]!, distances[j]!];
    const [ca, cb] = [covariance[j - 1]!, covariance[j]!];
    // ∫ 2πr c(r) dr with c linear in r.
    const slope = (cb - ca) / (b - a);
    sum += 2 * Math.PI * (((ca - slope * a) * (b * b - a * a)) / 2 + (slope * (b * b * b - a * a * a)) / 3);
  }
  return Math.max(0, sum);
}

/** Neighbouring cells that share less of their variance are as good as independent. */
const WHITE_SHARE = 0.1;

/**
 * Where the autocorrelation falls to 1/e. Long waves of little height do not count: they say nothing of how many points
 * share their error.
 */
function lengthOf(distances: Float64Array, covariance: Float64Array, variance: number): number {
  const target = variance / Math.E;
  let [before, at] = [variance, 0];
  for (let j = 0; j < distances.length; j++) {
    const here = covariance[j]!;
    if (here <= target) return j === 0 && here <= WHITE_SHARE * variance ? 0 : at + ((before - target) / (before - here)) * (distances[j]! - at);
    [before, at] = [here, distances[j]!];
  }
  return at;
}

/** Covariance of two points a distance apart. [m²] */
export function covarianceAt({ distances, covariance }: Correlation, distance: number): number {
  if (distance <= distances[0]!) return covariance[0]!;
  for (let j = 1; j < distances.length; j++) {
    if (distance > distances[j]!) continue;
    const share = (distance - distances[j - 1]!) / (distances[j]! - distances[j - 1]!);
    return covariance[j - 1]! * (1 - share) + covariance[j]! * share;
  }
  return 0;
}

/** Subdivisions of a square's side when covariance is averaged over its pairs of points. */
const SUBDIVISIONS = 10;

/** Mean covariance of two points anywhere in a square of the given side. [m²] */
export function meanCovarianceInSquare(correlation: Correlation, side: number): number {
  const m = SUBDIVISIONS;
  let sum = 0;
  for (let i = 1 - m; i < m; i++) {
    for (let j = 1 - m; j < m; j++) {
      sum += (m - Math.abs(i)) * (m - Math.abs(j)) * covarianceAt(correlation, (side / m) * Math.hypot(i, j));
    }
  }
  return Math.max(0, sum / (m * m) ** 2);
}

/** Half width of the 95 % interval of the mean of `count` points spread over a square of the given side. [m] */
export const meanHeightU95 = (correlation: Correlation, count: number, side: number): number =>
  SIGMAS_95 * Math.sqrt(correlation.alone / Math.max(1, count) + meanCovarianceInSquare(correlation, side));
