import { describe, expect, it } from 'vitest';
import { interiorPosition } from '../../../src/geometry/interior-position.ts';
import { ringContains } from '../../../src/geometry/polygon.ts';
import type { Vector2 } from '../../../src/geometry/vector.ts';

describe('interiorPosition', () => {
  it('is the middle of a square, half a side from its rim', () => {
    const { at, clearance } = interiorPosition([[[0, 0], [4, 0], [4, 4], [0, 4]]]);
    expect(at[0]).toBeCloseTo(2, 1);
    expect(at[1]).toBeCloseTo(2, 1);
    expect(clearance).toBeCloseTo(2, 1);
  });

  it('stays inside an L, whose middle lies outside', () => {
    const ring: Vector2[] = [[0, 0], [10, 0], [10, 1], [1, 1], [1, 10], [0, 10]];
    const { at, clearance } = interiorPosition([ring]);
    expect(ringContains(ring, at)).toBe(true);
    // The widest place is the corner square; the distance there is about 0.59 m (2 - √2), in the arms 0.5 m.
    expect(clearance).toBeGreaterThan(0.5);
    expect(clearance).toBeLessThanOrEqual(2 - Math.SQRT2 + 1e-9);
  });

  it('keeps clear of a hole in the middle', () => {
    const hole: Vector2[] = [[3, 3], [3, 7], [7, 7], [7, 3]];
    const { at } = interiorPosition([[[0, 0], [10, 0], [10, 10], [0, 10]], hole]);
    expect(ringContains(hole, at)).toBe(false);
  });
});
