import { describe, expect, test } from 'vitest';
import type { Truth, TruthPlane } from '../../../src/survey/score/truth.ts';
import { oracleErrorAt95, oraclePitchU95 } from '../../accuracy/oracle.ts';
import { gableTruth } from '../../fixtures/gable-truth.ts';

const square = (side: number): TruthPlane => ({
  ...gableTruth.planes[0]!, normal: [0, 0, 1], pitchDeg: 0, azimuthGridDeg: null,
  ring: [[0, 0, 0], [side, 0, 0], [side, side, 0], [0, side, 0]], slopeAreaM2: side * side, planAreaM2: side * side,
});
const noisy = (whiteSigmaM: number, correlated: Truth['sampling']['correlated'] = []): Truth => ({
  ...gableTruth, sampling: { ...gableTruth.sampling, spacingM: 0.05, whiteSigmaM, correlated },
});
const degrees = 180 / Math.PI;

describe('the narrowest honest interval of a pitch', () => {
  test('white noise on a square: sigma s sqrt(12) / L²', () => {
    expect(oraclePitchU95(square(6), noisy(0.02))).toBeCloseTo(1.959964 * ((0.02 * 0.05 * Math.sqrt(12)) / 36) * degrees, 3);
  });

  // Simulated slope deviations of a 5 m patch, sigma 15 mm, for exp(-d²/l²): 0.021, 0.040 and 0.078 degrees for 0.1, 0.2, 0.4 m
  // (project's own simulation of plane uncertainty, 2025; rounded to a thousandth, so 6 %).
  test.each([[0.1, 0.021], [0.2, 0.04], [0.4, 0.078]])('correlated noise of length %f m', (lengthM, sigmaDeg) => {
    const u95 = oraclePitchU95(square(5), noisy(0, [{ sigmaM: 0.015, lengthM }]));
    expect(Math.abs(u95 / 1.959964 / sigmaDeg - 1)).toBeLessThan(0.08);
  });

  test('a plane twice as large is four times as sure, a hole in its middle costs little', () => {
    const small = oraclePitchU95(square(3), noisy(0.01));
    expect(oraclePitchU95(square(6), noisy(0.01)) / small).toBeCloseTo(0.25, 2);
    const holed = { ...square(3), holes: [[[1, 1, 0], [1, 2, 0], [2, 2, 0], [2, 1, 0]] as const] };
    const worse = oraclePitchU95(holed, noisy(0.01)) / small;
    expect(worse).toBeGreaterThan(1);
    expect(worse).toBeLessThan(1.02);
  });
});

test('errors of planes with one half width stay below it in 95 %; a mixture lies between', () => {
  expect(oracleErrorAt95([0.1, 0.1])).toBeCloseTo(0.1, 5);
  const mixed = oracleErrorAt95([0.1, 0.3])!;
  expect(mixed).toBeGreaterThan(0.1);
  expect(mixed).toBeLessThan(0.3);
  expect(oracleErrorAt95([])).toBeNull();
});
