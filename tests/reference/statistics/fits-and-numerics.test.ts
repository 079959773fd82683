import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { lagProducts } from '../../../src/find/measure/faces/lag-products.ts';
import type { RoofRaster } from '../../../src/find/measure/raster/roof-raster.ts';
import { correlatedFits, type CorrelatedFit } from '../../../src/geometry/correlated-fit.ts';
import { chiSquareQuantile, normalQuantile, studentQuantile } from '../../../src/geometry/distributions.ts';
import type { Vector2 } from '../../../src/geometry/vector.ts';
import { heightVariance } from '../../../src/reading/plane-uncertainty.ts';
import { positionalAccuracy } from '../../../src/reading/positional-accuracy.ts';
import { meanAndDeviation } from '../../../src/reading/sample-statistics.ts';

const HEADERS = ['source', 'edition', 'where', 'licence', 'tolerance'];

function rowsOf(name: string): number[][] {
  const lines = readFileSync(new URL(name, import.meta.url), 'utf8').trim().split('\n');
  for (const header of HEADERS) expect(lines.some((line) => line.startsWith(`# ${header}: `))).toBe(true);
  return lines.filter((line) => !line.startsWith('#')).slice(1).map((line) => line.split(',').map(Number));
}

/** Plain least squares: the fit of correlated errors where no two share any. */
function leastSquares(z: readonly number[], columns: readonly (readonly number[])[]): CorrelatedFit {
  const apart = z.map((_, i) => 1e6 * i);
  const fit = correlatedFits({ x: apart, y: z.map(() => 0), z, count: z.map(() => 1) }, columns)({ length: 1, power: 2, alone: 1 });
  if (!fit) throw new Error('Expected the columns to fix the parameters.');
  return fit;
}

const sigmaOf = ({ covariance, parameters }: CorrelatedFit, i: number): number => Math.sqrt(covariance[i * parameters.length + i]!);
const relative = (ours: number, certified: number): number => Math.abs(ours / certified - 1);

describe('NIST regressions by the fit that planes of correlated errors use', () => {
  it('Norris: intercept, slope and their standard deviations', () => {
    const rows = rowsOf('norris.csv');
    const fit = leastSquares(rows.map(([y]) => y!), [rows.map(() => 1), rows.map(([, x]) => x!)]);
    expect(relative(fit.parameters[0]!, -0.262323073774029)).toBeLessThan(1e-9);
    expect(relative(fit.parameters[1]!, 1.00211681802045)).toBeLessThan(1e-12);
    expect(relative(sigmaOf(fit, 0), 0.232818234301152)).toBeLessThan(1e-9);
    expect(relative(sigmaOf(fit, 1), 4.29796848199937e-4)).toBeLessThan(1e-9);
  });

  // Longley's columns are nearly one another: normal equations lose half of the digits, so they are solved about the means, as
  // all fits of the project are. Seven digits are left where raw columns leave none at all to rely on.
  it('Longley: seven coefficients of nearly dependent columns', () => {
    const rows = rowsOf('longley.csv');
    const means = [1, 2, 3, 4, 5, 6].map((k) => rows.reduce((sum, row) => sum + row[k]!, 0) / rows.length);
    const scales = [1, 2, 3, 4, 5, 6].map((k, i) => Math.max(...rows.map((row) => Math.abs(row[k]! - means[i]!))));
    const fit = leastSquares(rows.map(([y]) => y!), [rows.map(() => 1), ...[1, 2, 3, 4, 5, 6].map((k, i) => rows.map((row) => (row[k]! - means[i]!) / scales[i]!))]);
    const slopes = scales.map((scale, i) => fit.parameters[i + 1]! / scale);
    const intercept = fit.parameters[0]! - slopes.reduce((sum, slope, i) => sum + slope * means[i]!, 0);
    [15.0618722713733, -0.035819179292591, -2.02022980381683, -1.03322686717359, -0.0511041056535807, 1829.15146461355].forEach((certified, i) =>
      expect(relative(slopes[i]!, certified)).toBeLessThan(1e-7));
    expect(relative(intercept, -3482258.63459582)).toBeLessThan(1e-7);
  });
});

// JCGM 100:2008 (GUM), annex H; values from memory, recomputed. Tolerance: half the last printed digit.
describe('worked examples of the GUM with correlated quantities', () => {
  it('H.3: calibration line, its uncertainties and correlation, and a prediction', () => {
    const t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
    const b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];
    const fit = leastSquares(b, [t.map(() => 1), t.map((value) => value - 20)]);
    const [y1, y2] = fit.parameters;
    const [u1, u2] = [sigmaOf(fit, 0), sigmaOf(fit, 1)];
    expect(Math.abs(y1! + 0.1712)).toBeLessThan(5e-5);
    expect(Math.abs(y2! - 0.00218)).toBeLessThan(5e-6);
    expect(Math.abs(u1 - 0.0029)).toBeLessThan(5e-5);
    expect(Math.abs(u2 - 0.00067)).toBeLessThan(5e-6);
    expect(Math.abs(fit.covariance[1]! / (u1 * u2) + 0.93)).toBeLessThan(5e-4);
    const plane = { centroid: [20, 0] as Vector2, elevation: y1!, slopeX: y2!, slopeY: 0, covariance: [fit.covariance[0]!, fit.covariance[1]!, 0, fit.covariance[1]!, fit.covariance[3]!, 0, 0, 0, 0] };
    expect(Math.abs(plane.elevation + 10 * plane.slopeX + 0.1494)).toBeLessThan(5e-5);
    expect(Math.abs(Math.sqrt(heightVariance(plane, [30, 0])) - 0.0041)).toBeLessThan(5e-5);
  });

  // u² = cᵀ C c is the law by which a plane's height gets its ±: with the sensitivities over the first one for its place. Left
  // independent, u(R) would come out three times too large.
  it('H.2: resistance, reactance and impedance from voltage, current and phase that err together', () => {
    const readings = { v: [5.007, 4.994, 5.005, 4.99, 4.999], i: [0.019663, 0.019639, 0.01964, 0.019685, 0.019678], phi: [1.0456, 1.0438, 1.0468, 1.0428, 1.0433] };
    const [v, i, phi] = [readings.v, readings.i, readings.phi].map((values) => meanAndDeviation(values).mean) as [number, number, number];
    const all = [readings.v, readings.i, readings.phi];
    const covariance = all.flatMap((a) => all.map((c) => {
      const [ma, mc] = [meanAndDeviation(a).mean, meanAndDeviation(c).mean];
      return a.reduce((sum, value, k) => sum + (value - ma) * (c[k]! - mc), 0) / (5 * 4);
    }));
    const uncertainty = (first: number, second: number, third: number): number =>
      Math.abs(first) * Math.sqrt(heightVariance({ centroid: [0, 0], elevation: 0, slopeX: 0, slopeY: 0, covariance }, [second / first, third / first]));
    const [cos, sin] = [Math.cos(phi), Math.sin(phi)];
    expect(Math.abs((v / i) * cos - 127.732)).toBeLessThan(6e-4);
    expect(Math.abs(uncertainty(cos / i, (-v * cos) / i ** 2, (-v * sin) / i) - 0.071)).toBeLessThan(6e-4);
    expect(Math.abs((v / i) * sin - 219.847)).toBeLessThan(6e-4);
    expect(Math.abs(uncertainty(sin / i, (-v * sin) / i ** 2, (v * cos) / i) - 0.295)).toBeLessThan(6e-4);
    expect(Math.abs(v / i - 254.26)).toBeLessThan(6e-4);
    expect(Math.abs(uncertainty(1 / i, -v / i ** 2, 0) - 0.236)).toBeLessThan(6e-4);
    const independent = Math.hypot((cos / i) * Math.sqrt(covariance[0]!), ((v * cos) / i ** 2) * Math.sqrt(covariance[4]!), ((v * sin) / i) * Math.sqrt(covariance[8]!));
    expect(independent / 0.071).toBeGreaterThan(2.5);
  });
});

describe('NIST summary statistics', () => {
  // NumAcc2 to 4: one value, then 500 times a pair; certified mean, standard deviation 0.1.
  it.each([['NumAcc2', 1, 1e-12, 1e-12], ['NumAcc3', 1_000_000, 1e-9, 1e-9], ['NumAcc4', 10_000_000, 1e-8, 1e-7]])('%s keeps its digits', (_name, base, ofMean, ofDeviation) => {
    const values = [base + 0.2, ...Array.from({ length: 1000 }, (_, index) => base + (index % 2 === 0 ? 0.1 : 0.3))];
    const { mean, deviation } = meanAndDeviation(values);
    expect(Math.abs(mean - (base + 0.2))).toBeLessThan(ofMean);
    expect(Math.abs(deviation - 0.1)).toBeLessThan(ofDeviation);
  });

  it('Mavro: mean, deviation, and the autocorrelation of lag one as residuals of a plane get it', () => {
    const y = rowsOf('mavro.csv').map(([value]) => value!);
    const { mean, deviation } = meanAndDeviation(y);
    expect(relative(mean, 2.001856)).toBeLessThan(1e-12);
    expect(relative(deviation, 4.29123454003053e-4)).toBeLessThan(1e-9);
    const residual = Float32Array.from(y, (value) => value - mean);
    const row = { columns: y.length, count: new Uint32Array(y.length).fill(1) } as unknown as RoofRaster;
    const { products, pairs } = lagProducts(row, [...y.keys()], residual);
    expect(pairs[0]).toBe(49);
    // Residuals are kept in single precision.
    expect(Math.abs(products[0]! / residual.reduce((sum, value) => sum + value * value, 0) - 0.937989183438248)).toBeLessThan(1e-6);
  });
});

// Standard tables; values from memory, recomputed. Tolerance: half the last printed digit.
describe('tables of quantiles', () => {
  it.each([[1, 12.706], [2, 4.303], [3, 3.182], [4, 2.776], [5, 2.571], [9, 2.262], [10, 2.228], [19, 2.093], [29, 2.045], [30, 2.042], [60, 2], [120, 1.98]])('Student, %i degrees of freedom: %f', (freedom, t) =>
    expect(Math.abs(studentQuantile(0.975, freedom) - t)).toBeLessThan(6e-4));
  it.each([[1, 3.841], [2, 5.991], [3, 7.815], [4, 9.488], [5, 11.07], [9, 16.919], [10, 18.307], [19, 30.144], [29, 42.557], [30, 43.773]])('chi-square, %i degrees of freedom: %f', (freedom, value) =>
    expect(Math.abs(chiSquareQuantile(0.95, freedom) - value)).toBeLessThan(6e-4));
  // ISO 19157, measures of positional uncertainty: linear and circular multipliers of sigma.
  it.each([[0.5, 0.6745, 1.1774], [0.9, 1.6449, 2.146], [0.95, 1.96, 2.4477], [0.99, 2.5758, 3.0349], [0.998, 3.0902, 3.5255]])('linear and circular error at %f', (share, linear, circular) => {
    expect(Math.abs(normalQuantile((1 + share) / 2) - linear)).toBeLessThan(6e-5);
    expect(Math.abs(Math.sqrt(chiSquareQuantile(share, 2)) - circular)).toBeLessThan(6e-5);
  });
});

// ASPRS 2014 horizontal classes (a course page of Penn State, GEOG 892; first row seen, others recomputed): RMSE of one axis, of
// both, and at 95 %, in centimetres.
it.each([[0.63, 0.9, 1.5], [1.25, 1.8, 3.1], [2.5, 3.5, 6.1], [5, 7.1, 12.2], [7.5, 10.6, 18.4], [10, 14.1, 24.5], [15, 21.2, 36.7], [30, 42.4, 73.4]])('class of %f cm an axis', (axis, both, at95) => {
  const { rmseHorizontal, nssdaHorizontal95 } = positionalAccuracy([[axis, axis, axis], [-axis, -axis, -axis]]);
  expect(Math.abs(rmseHorizontal - both)).toBeLessThan(0.06);
  expect(Math.abs(nssdaHorizontal95 - at95)).toBeLessThan(0.06);
});
