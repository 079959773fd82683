import { describe, expect, it } from 'vitest';
import { hatchLines } from '../../../src/geometry/hatch.ts';
import type { Vector2 } from '../../../src/geometry/vector.ts';

const square: Vector2[] = [[0, 0], [4, 0], [4, 4], [0, 4]];
const lengthOf = (pieces: readonly (readonly [Vector2, Vector2])[]): number => pieces.reduce((sum, [a, b]) => sum + Math.hypot(b[0] - a[0], b[1] - a[1]), 0);

describe('hatchLines', () => {
  it('level lines one apart cross a square of four side to side', () => {
    const pieces = hatchLines([square], 1, 0);
    // At 0, 1, 2, 3: a line on the upper side does not count twice.
    expect(pieces).toHaveLength(4);
    for (const [a, b] of pieces) expect(Math.abs(b[0] - a[0])).toBeCloseTo(4, 12);
  });

  it('length times spacing is the area, for any angle, holes left out', () => {
    const hole: Vector2[] = [[1, 1], [1, 3], [3, 3], [3, 1]];
    for (const angle of [0.3, Math.PI / 4, 1.9]) {
      expect(lengthOf(hatchLines([square], 0.01, angle)) * 0.01).toBeCloseTo(16, 1);
      expect(lengthOf(hatchLines([square, hole], 0.01, angle)) * 0.01).toBeCloseTo(12, 1);
    }
  });

  it('refuses a spacing of nothing', () => {
    expect(() => hatchLines([square], 0, 0)).toThrow(/spacing above 0/);
  });
});
