import { describe, expect, it } from 'vitest';
import { alongLine, besideLine, crossingOf, cutIntoStraights, fitLine, onLine, sumPositions } from '../../../src/geometry/plan-line.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';
import type { Vector2 } from '../../../src/geometry/vector.ts';

describe('lines in plan', () => {
  const line = { at: [1, 1] as Vector2, direction: [0.6, 0.8] as Vector2 };

  it('left is positive, and along and beside come back', () => {
    expect(besideLine(line, [0, 1])).toBeGreaterThan(0);
    expect(alongLine(line, onLine(line, 3))).toBeCloseTo(3, 14);
    expect(besideLine(line, onLine(line, 3))).toBeCloseTo(0, 14);
  });

  it('cross where they should, and not when parallel', () => {
    expect(crossingOf(line, { at: [4, 0], direction: [0, 1] })).toEqual([4, 5]);
    expect(crossingOf(line, { at: [9, 9], direction: [-0.6, -0.8] })).toBeNull();
  });

  it('fit a stretch of positions far from the origin', () => {
    const positions = Array.from({ length: 20 }, (_, i): Vector2 => [5e5 + i, 5e6 + 2 * i]);
    const fitted = fitLine(sumPositions(positions), positions, 5, 15);
    expect(fitted.direction[1] / fitted.direction[0]).toBeCloseTo(2, 9);
    expect(fitted.squares).toBeLessThan(1e-9);
    expect(fitted.count).toBe(10);
  });

  it('cuts a noisy L into two straights at its corner (seed 2)', () => {
    const random = seededRandom(2);
    const positions = Array.from({ length: 80 }, (_, i): Vector2 => {
      const [x, y] = i < 40 ? [i, 0] : [40, i - 40];
      return [x + 0.4 * random.normal(), y + 0.4 * random.normal()];
    });
    const cuts = cutIntoStraights(positions, 0.45, 16);
    expect(cuts).toHaveLength(3);
    expect(Math.abs(cuts[1]! - 40)).toBeLessThanOrEqual(2);
  });

  it('leaves one straight alone', () => {
    expect(cutIntoStraights(Array.from({ length: 30 }, (_, i): Vector2 => [i, 0.3 * (i % 2)]), 0.45, 16)).toEqual([0, 30]);
  });
});
