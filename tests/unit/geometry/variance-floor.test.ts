import { describe, expect, it } from 'vitest';
import { raisedTo } from '../../../src/geometry/variance-floor.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';

const variance = (c: readonly number[], [x, y, z]: readonly number[]): number => {
  const v = [x!, y!, z!];
  return v.reduce((sum, a, i) => sum + v.reduce((inner, b, j) => inner + a * b * c[3 * i + j]!, 0), 0);
};

describe('a floor under a covariance', () => {
  const least = [4e-6, 1e-7, 0, 1e-7, 2e-4, 3e-5, 0, 3e-5, 1e-4];

  it('leaves alone what is nowhere surer', () => {
    const wide = least.map((value) => 3 * value);
    expect(raisedTo(wide, least)).toEqual(wide);
  });

  it('raises a variance below zero to the floor and keeps the others', () => {
    // Principal directions of a diagonal pair are the axes: what comes out can be written down.
    const raised = raisedTo([9, 0, 0, 0, -2, 0, 0, 0, 1.5], [1, 0, 0, 0, 4, 0, 0, 0, 3]);
    [9, 0, 0, 0, 4, 0, 0, 0, 3].forEach((value, i) => expect(raised[i]).toBeCloseTo(value, 12));
  });

  it('no combination is surer than the floor, none less sure than before', () => {
    const random = seededRandom(7);
    for (let trial = 0; trial < 50; trial++) {
      const draw = Array.from({ length: 9 }, () => random.uniform() - 0.5);
      const scale = [2e-3, 1e-2, 1e-2];
      const c = draw.map((_, at) => ((draw[at]! + draw[3 * (at % 3) + Math.floor(at / 3)]!) / 2) * scale[at % 3]! * scale[Math.floor(at / 3)]!);
      const raised = raisedTo(c, least);
      for (let look = 0; look < 20; look++) {
        const direction = [random.uniform() - 0.5, random.uniform() - 0.5, random.uniform() - 0.5];
        expect(variance(raised, direction)).toBeGreaterThanOrEqual(variance(least, direction) * (1 - 1e-9));
        expect(variance(raised, direction)).toBeGreaterThanOrEqual(variance(c, direction) - 1e-12);
      }
    }
  });
});
