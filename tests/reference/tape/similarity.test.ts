import { describe, expect, it } from 'vitest';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import { fitSimilarity, type SimilarityObservation } from '../../../src/reading/similarity-fit.ts';

// Seven stations about Stuttgart, local and WGS 84: Awange and Grafarend, "Linearized least squares and nonlinear
// Gauss-Jacobi combinatorial algorithm applied to the 7-parameter datum transformation C7(3) problem", ZfV 127 (2002) 2,
// and Grafarend and Awange, Journal of Geodesy 77 (2003). Coordinates as spread with open test data; the published
// parameters and residuals below from memory, and confirmed to every digit by a closed-form solution (singular value
// decomposition, numpy 2.4) whose covariance stands beside them.
const LOCAL: readonly Vector3[] = [
  [4157222.543, 664789.307, 4774952.099], [4149043.336, 688836.443, 4778632.188], [4172803.511, 690340.078, 4758129.701], [4177148.376, 642997.635, 4760764.8],
  [4137012.19, 671808.029, 4791128.215], [4146292.729, 666952.887, 4783859.856], [4138759.902, 702670.738, 4785552.196],
];
const GLOBAL: readonly Vector3[] = [
  [4157870.237, 664818.678, 4775416.524], [4149691.049, 688865.785, 4779096.588], [4173451.354, 690369.375, 4758594.075], [4177796.064, 643026.7, 4761228.899],
  [4137659.549, 671837.337, 4791592.531], [4146940.228, 666982.151, 4784324.099], [4139407.506, 702700.227, 4786016.645],
];
const PUBLISHED_RESIDUALS = [
  [0.094, 0.1351, 0.1402], [0.0588, -0.0497, 0.0137], [-0.0399, -0.0879, -0.0081], [0.0202, -0.022, -0.0874], [-0.0919, 0.0139, -0.0055], [-0.0118, 0.0065, -0.0546], [-0.0294, 0.0041, 0.0017],
];
const ARC_SECOND = Math.PI / 180 / 3600;

const AXES: readonly Vector3[] = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
const wholePoints = (from: readonly Vector3[], to: readonly Vector3[], sigma: number): SimilarityObservation[] =>
  from.flatMap((place, i) => AXES.map((direction) => ({ from: place, to: to[i]!, direction, sigma })));

describe('the seven-parameter fit against the published example', () => {
  const fit = fitSimilarity(wholePoints(LOCAL, GLOBAL, 1));

  it('gives its scale, turns and residuals', () => {
    const { scale, turnX, turnY, turnZ } = fit.parameters;
    expect(scale.value * 1e6).toBeCloseTo(5.5825, 3);
    expect(turnX.value / ARC_SECOND).toBeCloseTo(0.9985, 3);
    expect(turnY.value / ARC_SECOND).toBeCloseTo(-0.8937, 3);
    expect(turnZ.value / ARC_SECOND).toBeCloseTo(-0.9931, 3);
    PUBLISHED_RESIDUALS.flat().forEach((residual, i) => expect(fit.residuals[i]).toBeCloseTo(residual, 3));
  });

  it('gives its shift, which is counted from the centre of the earth', () => {
    const origin = fit.apply([0, 0, 0]);
    [641.8804, 68.6553, 416.3982].forEach((shift, axis) => expect(origin[axis]).toBeCloseTo(shift, 2));
  });

  it('gives the covariance of an independent solution', () => {
    const sigmas = [0, 1, 2, 3, 4, 5, 6].map((at) => Math.sqrt(fit.covariance[8 * at]!));
    [0.37796447, 0.37796447, 0.37796447, 1.967639e-5, 2.193514e-5, 1.751303e-5, 1.437395e-5].forEach((sigma, at) => expect(sigmas[at]! / sigma).toBeCloseTo(1, 5));
    expect(fit.degreesOfFreedom).toBe(14);
    expect(Math.sqrt(fit.chiSquare / 14)).toBeCloseTo(0.0772337, 5);
  });
});

describe('what few points leave open', () => {
  const shifted = (places: readonly Vector3[]): Vector3[] => places.map(([x, y, z]) => [x + 0.05, y - 0.02, z + 0.03]);
  const determined = (places: readonly Vector3[]): string[] =>
    Object.entries(fitSimilarity(wholePoints(places, shifted(places), 0.01)).parameters).filter(([, { isDetermined }]) => isDetermined).map(([name]) => name);

  it('one point: a shift and nothing else', () => expect(determined([[5, 5, 3]])).toEqual(['shiftX', 'shiftY', 'shiftZ']));
  it('two points on a level line to the east: not the turn about that line', () => {
    expect(determined([[0, 0, 3], [12, 0, 3]])).toEqual(['shiftX', 'shiftY', 'shiftZ', 'turnY', 'turnZ', 'scale']);
  });
  it('three points in a line are no better than two', () => expect(determined([[0, 0, 3], [6, 0, 3], [12, 0, 3]])).not.toContain('turnX'));
  it('three corners of a roof: all seven', () => expect(determined([[0, 0, 3], [12, 0, 3], [0, 9, 3]])).toHaveLength(7));
  it('heights on three planes: lift and both tilts, nothing sideways', () => {
    const places: Vector3[] = [[0, 0, 3], [12, 0, 3], [0, 9, 3]];
    const { parameters } = fitSimilarity(places.map((from) => ({ from, to: [from[0], from[1], from[2] + 0.04], direction: [0, 0, 1], sigma: 0.01 })));
    expect(Object.entries(parameters).filter(([, { isDetermined }]) => isDetermined).map(([name]) => name)).toEqual(['shiftZ', 'turnX', 'turnY']);
    expect(parameters.shiftZ.value).toBeCloseTo(0.04, 9);
  });
});

describe('the ± of the fit', () => {
  it('holds the truth in 93 to 97 of 100 of 2000 seeded draws, for each parameter', async () => {
    const { seededRandom } = await import('../../../src/geometry/seeded-random.ts');
    const { normal } = seededRandom(11);
    const places: Vector3[] = [[0, 0, 3], [14, 0, 3.2], [14, 9, 3], [0, 9, 3.1], [7, 4.5, 7]];
    const inside = new Map<string, number>();
    for (let trial = 0; trial < 2000; trial++) {
      const observations = wholePoints(places, places, 0.015).map((each) => ({ ...each, to: each.to.map((v) => v + 0.015 * normal()) as unknown as Vector3 }));
      for (const [name, { value, u95 }] of Object.entries(fitSimilarity(observations).parameters)) if (Math.abs(value) <= u95) inside.set(name, (inside.get(name) ?? 0) + 1);
    }
    for (const [name, count] of inside) {
      expect(count / 2000, name).toBeGreaterThanOrEqual(0.93);
      expect(count / 2000, name).toBeLessThanOrEqual(0.97);
    }
  });
});
