import { describe, expect, it } from 'vitest';
import { fitMoments, MOMENT_FIT_SIZE } from '../../../src/geometry/fit-moments.ts';

function momentsOf(points: readonly (readonly [number, number, number])[]): Float64Array {
  const m = new Float64Array(10);
  for (const [x, y, z] of points) [1, x, y, z, x * x, x * y, x * z, y * y, y * z, z * z].forEach((term, k) => (m[k]! += term));
  return m;
}

const fit = (points: readonly (readonly [number, number, number])[]): Float64Array => {
  const out = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(momentsOf(points), out);
  return out;
};

describe('fitMoments', () => {
  it('finds the plane of four points of z = x', () => {
    const out = fit([[0, 0, 0], [1, 0, 1], [0, 1, 0], [1, 1, 1]]);
    expect(out[0]).toBeCloseTo(-Math.SQRT1_2, 12);
    expect(out[1]).toBeCloseTo(0, 12);
    expect(out[2]).toBeCloseTo(Math.SQRT1_2, 12);
    // Variances 0 across, 1/4 along y, 1/2 along the slope.
    expect(Array.from(out.slice(3), (value) => Math.round(value * 1e9) / 1e9)).toEqual([0, 0.25, 0.5]);
  });

  it('gives the variance of points above and below a level square', () => {
    const corners = [[-1, -1], [1, -1], [-1, 1], [1, 1]] as const;
    const out = fit(corners.flatMap(([x, y]) => [[x, y, 0.1], [x, y, -0.1]] as const));
    expect([out[0], out[1]]).toEqual([0, 0]);
    expect(out[2]).toBeCloseTo(1, 15);
    expect(out[3]).toBeCloseTo(0.01, 12);
  });

  it('turns the normal upward, and gives a vertical plane a level one', () => {
    expect(fit([[0, 0, 0], [0, 1, 0], [0, 0, 1], [0, 1, 1.5]])[0]).toBeCloseTo(1, 9);
    expect(fit([[0, 0, 0], [1, 0, -2], [0, 1, 3], [1, 1, 1]])[2]).toBeGreaterThan(0);
  });

  it('calls points on one spot a level plane without thickness', () => {
    expect([...fit([[3, 4, 5], [3, 4, 5]])]).toEqual([0, 0, 1, 0, 0, 0]);
  });

  it('keeps a millimetre of thickness over a plane of 60 m', () => {
    const points = Array.from({ length: 3600 }, (_, i) => [i % 60, Math.floor(i / 60), (i % 2 === 0 ? 1 : -1) * 0.001 + 0.2 * (i % 60)] as const);
    expect(Math.sqrt(fit(points)[3]!)).toBeCloseTo(0.001 / Math.hypot(1, 0.2), 5);
  });
});
