import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { distanceToPlane } from '../../../src/geometry/plane.ts';
import { fitLine, sumPositions } from '../../../src/geometry/plan-line.ts';
import { signedPlanArea, surfaceArea } from '../../../src/geometry/polygon.ts';
import { cross, dot, length, normalize, subtract, type Vector2, type Vector3 } from '../../../src/geometry/vector.ts';
import { heightVariance } from '../../../src/reading/plane-uncertainty.ts';

const HEADERS = ['source', 'edition', 'where', 'licence', 'tolerance'];

describe('polygon areas of surveying texts', () => {
  const lines = readFileSync(new URL('polygon-areas.csv', import.meta.url), 'utf8').trim().split('\n');
  it('the file says where its values come from', () => {
    for (const name of HEADERS) expect(lines.some((line) => line.startsWith(`# ${name}: `))).toBe(true);
  });
  for (const line of lines.filter((text) => !text.startsWith('#')).slice(1)) {
    const [name, area, tolerance, corners] = line.split(',') as [string, string, string, string];
    it(name, () => {
      const ring = corners.split(';').map((corner): Vector2 => corner.trim().split(' ').map(Number) as [number, number] as Vector2);
      expect(Math.abs(Math.abs(signedPlanArea(ring)) - Number(area))).toBeLessThanOrEqual(Number(tolerance));
      // The other way around, and moved to a national grid: same area, other sign.
      const far = [...ring].reverse().map(([x, y]): Vector2 => [x + 500_000, y + 5_000_000]);
      expect(Math.abs(signedPlanArea(far) + signedPlanArea(ring))).toBeLessThan(1e-3);
    });
  }
});

// Stewart, Calculus (7th edition), exercises of 12.4 and 12.5; values from memory, recomputed. Tolerance: rounding.
describe('planes of a calculus text', () => {
  const planeThrough = (a: Vector3, b: Vector3, c: Vector3) => {
    const normal = normalize(cross(subtract(b, a), subtract(c, a)));
    return { normal, offset: -dot(normal, a) };
  };

  it('12.5 example 5: through (1,3,2), (3,-1,6), (5,2,0) runs 6x + 10y + 7z = 50', () => {
    const { normal, offset } = planeThrough([1, 3, 2], [3, -1, 6], [5, 2, 0]);
    const size = Math.hypot(6, 10, 7);
    [6, 10, 7].forEach((value, axis) => expect(normal[axis]).toBeCloseTo(value / size, 12));
    expect(offset).toBeCloseTo(-50 / size, 12);
  });

  it('12.5 example 7: x + y + z and x - 2y + 3z meet at 72.02 degrees', () => {
    const angle = Math.acos(dot(normalize([1, 1, 1]), normalize([1, -2, 3])));
    expect(Math.cos(angle)).toBeCloseTo(2 / Math.sqrt(42), 12);
    expect(Math.abs((angle * 180) / Math.PI - 72.02)).toBeLessThan(0.01);
  });

  it('12.5 example 9: parallel planes lie the root of 3 over 6 apart', () => {
    const size = Math.hypot(10, 2, -2);
    const plane = { normal: [10 / size, 2 / size, -2 / size] as Vector3, offset: -5 / size };
    // (0, 1, 0) is on 5x + y - z = 1.
    expect(Math.abs(distanceToPlane(plane, [0, 1, 0]))).toBeCloseTo(Math.sqrt(3) / 6, 12);
  });

  it('12.4 example 4: a triangle in space of 2.5 times the root of 82', () => {
    expect(surfaceArea([[1, 4, 6], [-2, 5, -1], [1, -1, 1]])).toBeCloseTo(2.5 * Math.sqrt(82), 12);
  });

  it('12.4 example 5: three vectors in one plane', () => {
    expect(dot([1, 4, -7], cross([2, -1, 4], [0, -9, 18]))).toBe(0);
    expect(length(cross([2, -1, 4], [0, -9, 18]))).toBeGreaterThan(0);
  });
});

// K. Pearson, On lines and planes of closest fit, Philosophical Magazine 2 (1901) 559, first example; from memory,
// recomputed: y = 5.784 - 0.54556 x, against 5.7612 - 0.53958 x for ordinary least squares. Half the last digit.
it('Pearson 1901: the line of closest fit is the orthogonal one', () => {
  const x = [0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
  const y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
  const positions = x.map((value, i): Vector2 => [value, y[i]!]);
  const { at, direction } = fitLine(sumPositions(positions), positions, 0, positions.length);
  const slope = direction[1] / direction[0];
  expect(Math.abs(slope + 0.54556)).toBeLessThan(6e-6);
  expect(Math.abs(at[1] - slope * at[0] - 5.784)).toBeLessThan(6e-4);
});

// JCGM 100:2008 (GUM), H.3, thermometer calibration: y1 = -0.1712 ± 0.0029, y2 = 0.00218 ± 0.00067 at t0 = 20, r = -0.930;
// the correction at 30 has u = 0.0041. From memory, recomputed. A plane's height is predicted by the same law.
it('GUM H.3: uncertainty of a prediction from correlated estimates', () => {
  const [u1, u2, r] = [0.0029, 0.00067, -0.93];
  const covariance = [u1 * u1, r * u1 * u2, 0, r * u1 * u2, u2 * u2, 0, 0, 0, 0];
  const plane = { centroid: [20, 0] as Vector2, elevation: -0.1712, slopeX: 0.00218, slopeY: 0, covariance };
  expect(Math.abs(Math.sqrt(heightVariance(plane, [30, 0])) - 0.0041)).toBeLessThan(1.5e-4);
  expect(plane.elevation + 10 * plane.slopeX).toBeCloseTo(-0.1494, 4);
});
