import { describe, expect, it } from 'vitest';
import { turnedEnds } from '../../../../../src/find/measure/borders/turned-ends.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';

const STEP = 0.25;
const straying = { sigma: 0.45 * STEP, least: 1.5 * STEP, price: 32 };
const axis = { at: [0, 0] as Vector2, direction: [1, 0] as Vector2 };

/** Along the x axis, then off it by an angle for some cells, each position astray by a third of a cell. */
function rim(straight: number, turned: number, angleDeg: number, seed: number): Vector2[] {
  const random = seededRandom(seed);
  const angle = (angleDeg * Math.PI) / 180;
  return Array.from({ length: straight + turned }, (_, i): Vector2 => {
    const on = Math.min(i, straight) * STEP;
    const off = Math.max(0, i - straight) * STEP;
    return [on + off * Math.cos(angle), off * Math.sin(angle) + 0.33 * STEP * random.normal()];
  });
}

describe('where a rim leaves the line it follows', () => {
  it('a rim that keeps to its line has no turned end (100 seeds)', () => {
    const turned = Array.from({ length: 100 }, (_, seed) => turnedEnds(rim(14, 0, 0, seed), axis, straying)).filter(({ start, end }) => start + end > 0);
    expect(turned).toEqual([]);
  });

  it('five cells that turn off by 45 degrees are found to two cells, at either end (50 seeds)', () => {
    for (let seed = 0; seed < 50; seed++) {
      const positions = rim(9, 5, 45, seed);
      const forward = turnedEnds(positions, axis, straying);
      expect(forward.start).toBe(0);
      expect(Math.abs(forward.end - 5)).toBeLessThanOrEqual(2);
      expect(turnedEnds([...positions].reverse(), axis, straying)).toEqual({ start: forward.end, end: 0 });
    }
  });

  it('what lies within the wander of labels is no turn, nor is a rim too short to tell', () => {
    expect(turnedEnds(rim(9, 5, 45, 1), axis, { ...straying, least: 2 })).toEqual({ start: 0, end: 0 });
    expect(turnedEnds(rim(1, 4, 45, 1), axis, straying)).toEqual({ start: 0, end: 0 });
  });
});
