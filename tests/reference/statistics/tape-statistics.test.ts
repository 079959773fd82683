import { describe, expect, it } from 'vitest';
import { positionalAccuracy } from '../../../src/reading/positional-accuracy.ts';
import { agreementLimits, grubbsCritical, grubbsTest, meanAndDeviation, rmseBracketFactors } from '../../../src/reading/sample-statistics.ts';
import { chiSquareQuantile, studentQuantile } from '../../../src/geometry/distributions.ts';

// ASPRS Positional Accuracy Standards, Edition 1 (November 2014), Annex D, Table D.1: five checkpoints, measured minus survey.
// Values from memory, recomputed independently. Tolerance: half the last printed digit and the rounding of the inputs.
const ASPRS_2014_RESIDUALS = [
  [-0.14, -0.07, -0.071],
  [-0.1, -0.1, 0.01],
  [0.017, -0.07, 0.102],
  [-0.07, 0.15, -0.1],
  [0.13, 0.12, 0.087],
] as const;

// PE&RS, May 2014, p. 397 (Abdullah): seven checkpoints.
const PERS_2014_RESIDUALS = [
  [-0.06, 0.08, 0.055],
  [0.1, -0.045, -0.006],
  [-0.06, 0.08, -0.017],
  [-0.112, 0.007, 0.042],
  [-0.12, 0.15, -0.011],
  [-0.1, -0.045, 0.013],
  [-0.06, 0.08, 0.048],
] as const;

describe('positional accuracy', () => {
  it('ASPRS 2014 Annex D', () => {
    const { x, y, z, rmseHorizontal, nssdaHorizontal95, nssdaVertical95, statement } = positionalAccuracy(ASPRS_2014_RESIDUALS);
    expect([x.mean, y.mean, z.mean].map((value) => value.toFixed(3))).toEqual(['-0.033', '0.006', '0.006']);
    [[x, 0.108, 0.102], [y, 0.119, 0.106], [z, 0.091, 0.081]].forEach(([axis, deviation, rmse]) => {
      expect(Math.abs((axis as typeof x).deviation - (deviation as number))).toBeLessThan(6e-4);
      expect(Math.abs((axis as typeof x).rmse - (rmse as number))).toBeLessThan(6e-4);
    });
    expect(Math.abs(rmseHorizontal - 0.147)).toBeLessThan(6e-4);
    expect(Math.abs(nssdaHorizontal95 - 0.255)).toBeLessThan(6e-4);
    expect(Math.abs(nssdaVertical95 - 0.16)).toBeLessThan(6e-4);
    expect(statement).toContain('asks for 30');
  });

  it('seven checkpoints of PE&RS May 2014, whose easting must raise the warning of a bias', () => {
    const { x, y, z } = positionalAccuracy(PERS_2014_RESIDUALS);
    [[x, 0.075], [y, 0.073], [z, 0.03]].forEach(([axis, deviation]) =>
      expect(Math.abs((axis as typeof x).deviation - (deviation as number))).toBeLessThan(6e-4),
    );
    expect(x.mayBeBiased).toBe(true);
  });

  // FGDC-STD-007.3-1998, Appendix 3-A: factors 1.7308 and 1.9600.
  it('NSSDA factors for equal axes', () => {
    const { nssdaHorizontal95, nssdaVertical95 } = positionalAccuracy([[0.1, 0.1, 0.1], [-0.1, -0.1, -0.1]]);
    expect(nssdaHorizontal95).toBeCloseTo(1.7308 * 0.1 * Math.SQRT2, 10);
    expect(nssdaVertical95).toBeCloseTo(0.196, 10);
  });
});

describe('outliers', () => {
  // NIST/SEMATECH e-Handbook 1.3.5.17.1 (Tietjen and Moore 1972).
  it('NIST uranium isotope data', () => {
    const test = grubbsTest([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])!;
    expect(test.index).toBe(7);
    expect(Math.abs(test.statistic - 2.4687)).toBeLessThan(5e-4);
    expect(Math.abs(test.critical - 2.1266)).toBeLessThan(5e-4);
    expect(test.isOutlier).toBe(true);
  });

  // One-sided 5 % table (Grubbs 1969 lineage).
  it.each([
    [3, 1.1531], [4, 1.4625], [5, 1.6714], [6, 1.8221], [7, 1.9381], [8, 2.0317], [9, 2.1096], [10, 2.1761], [11, 2.2339], [12, 2.285],
    [13, 2.3305], [14, 2.3717], [15, 2.409], [16, 2.4433], [17, 2.4748], [18, 2.504], [19, 2.5312], [20, 2.5566],
  ])('one-sided, n = %i: %d', (count, expected) => expect(Math.abs(grubbsCritical(count, 1) - expected)).toBeLessThan(6e-5));

  // LibreTexts Chemistry, Analytic References, Appendix 07, without its two wrong cells (n = 7 at 5 %, n = 15 at 1 %).
  it.each([
    [3, 1.155, 1.155], [4, 1.481, 1.496], [5, 1.715, 1.764], [6, 1.887, 1.973], [8, 2.126, 2.274], [9, 2.215, 2.387], [10, 2.29, 2.482],
    [11, 2.355, 2.564], [12, 2.412, 2.636], [13, 2.462, 2.699], [14, 2.507, 2.755],
  ])('two-sided, n = %i', (count, five, one) => {
    expect(Math.abs(grubbsCritical(count, 2) - five)).toBeLessThan(1.1e-3);
    expect(Math.abs(grubbsCritical(count, 2, 0.01) - one)).toBeLessThan(1.1e-3);
  });
});

describe('agreement and spread', () => {
  // Bland and Altman, Lancet 1986 i:307-310, Table 1, first readings.
  it('peak flow meters', () => {
    const large = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
    const mini = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
    const { bias, deviation, lower, upper } = agreementLimits(large.map((value, index) => value - mini[index]!));
    expect(bias).toBeCloseTo(-2.1176470588, 6);
    expect(deviation).toBeCloseTo(38.7651298736, 6);
    expect(lower).toBeCloseTo(-78.0973016, 6);
    expect(upper).toBeCloseTo(73.8620075, 6);
  });

  // NIST StRD, NumAcc1 and NumAcc4: certified mean and standard deviation.
  it('keeps its digits at a mean of ten million', () => {
    const numAcc1 = meanAndDeviation([10000001, 10000003, 10000002]);
    expect(numAcc1).toEqual({ mean: 10000002, deviation: 1 });
    const numAcc4 = [10000000.2, ...Array.from({ length: 1000 }, (_, index) => (index % 2 === 0 ? 10000000.1 : 10000000.3))];
    const { mean, deviation } = meanAndDeviation(numAcc4);
    expect(mean).toBeCloseTo(10000000.2, 6);
    expect(deviation).toBeCloseTo(0.1, 7);
  });

  // Chi-square interval of a variance, computed with another library: n = 3, 5, 10, 20, 30.
  it.each([[3, 0.57, 3.73], [5, 0.62, 2.45], [10, 0.7, 1.75], [20, 0.77, 1.44], [30, 0.8, 1.34]])('RMSE of %i checks', (count, low, high) => {
    const [least, most] = rmseBracketFactors(count);
    expect(Math.abs(least - low)).toBeLessThan(0.0051);
    expect(Math.abs(most - high)).toBeLessThan(0.0051);
  });

  // Standard tables of Student's t and chi-square (values from memory, recomputed). Tolerance: half the last printed digit.
  it('quantiles', () => {
    [[1, 12.706], [2, 4.303], [5, 2.571], [10, 2.228], [29, 2.045], [120, 1.98]].forEach(([df, t]) =>
      expect(Math.abs(studentQuantile(0.975, df!) - t!)).toBeLessThan(6e-4));
    [[1, 3.841], [3, 7.815], [10, 18.307], [30, 43.773]].forEach(([df, q]) =>
      expect(Math.abs(chiSquareQuantile(0.95, df!) - q!)).toBeLessThan(6e-4));
  });
});
