import { chiSquareQuantile, studentQuantile } from '../geometry/distributions.ts';

/** Mean and standard deviation in two passes, so that a large mean costs no digits (NIST StRD, NumAcc4). */
export function meanAndDeviation(values: readonly number[]): { mean: number; deviation: number } {
  if (values.length === 0) throw new RangeError('Expected at least one value.');
  const first = values[0]!;
  const mean = first + values.reduce((sum, value) => sum + (value - first), 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  const drift = values.reduce((sum, value) => sum + (value - mean), 0);
  const deviation = values.length < 2 ? Number.NaN : Math.sqrt((squares - (drift * drift) / values.length) / (values.length - 1));
  return { mean, deviation };
}

export const rootMeanSquare = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

/**
 * What the root mean square of `count` residuals with zero mean says of the true one: it lies between the two factors
 * times the RMSE with 95 % probability (chi-square interval of a variance; GUM, JCGM 100:2008, E.4.3 for the idea).
 */
export function rmseBracketFactors(count: number): readonly [number, number] {
  if (!(count >= 1)) throw new RangeError(`Expected at least one residual, got ${count}.`);
  return [Math.sqrt(count / chiSquareQuantile(0.975, count)), Math.sqrt(count / chiSquareQuantile(0.025, count))];
}

/** Half width of the 95 % interval of a mean (Student). */
export function meanHalfWidth(values: readonly number[]): number {
  const { deviation } = meanAndDeviation(values);
  return (studentQuantile(0.975, values.length - 1) * deviation) / Math.sqrt(values.length);
}

export interface GrubbsTest {
  readonly index: number;
  readonly statistic: number;
  readonly critical: number;
  readonly isOutlier: boolean;
}

/**
 * Critical value of Grubbs' test for one outlier (NIST/SEMATECH e-Handbook 1.3.5.17.1).
 *
 * @param significance  Default 0.05.
 */
export function grubbsCritical(count: number, sides: 1 | 2, significance = 0.05): number {
  if (!(count >= 3)) throw new RangeError(`Grubbs' test needs at least 3 values, got ${count}.`);
  const t = studentQuantile(1 - significance / (sides * count), count - 2);
  return ((count - 1) / Math.sqrt(count)) * Math.sqrt((t * t) / (count - 2 + t * t));
}

/** Two-sided Grubbs test of the value farthest from the mean; null for fewer than three values or no spread at all. */
export function grubbsTest(values: readonly number[], significance = 0.05): GrubbsTest | null {
  if (values.length < 3) return null;
  const { mean, deviation } = meanAndDeviation(values);
  if (!(deviation > 0)) return null;
  let index = 0;
  values.forEach((value, at) => {
    if (Math.abs(value - mean) > Math.abs(values[index]! - mean)) index = at;
  });
  const statistic = Math.abs(values[index]! - mean) / deviation;
  const critical = grubbsCritical(values.length, 2, significance);
  return { index, statistic, critical, isOutlier: statistic > critical };
}

/** Limits of agreement between two methods (Bland and Altman, Lancet 1986 i:307), with 1.96 standard deviations. */
export function agreementLimits(differences: readonly number[], multiple = 1.96): { bias: number; deviation: number; lower: number; upper: number } {
  const { mean, deviation } = meanAndDeviation(differences);
  return { bias: mean, deviation, lower: mean - multiple * deviation, upper: mean + multiple * deviation };
}
