import { describe, expect, it } from 'vitest';
import type { Vector2 } from '../../../../src/geometry/vector.ts';
import { adjustCorners, type CornerWeight } from '../../../../src/find/measure/adjust-corners.ts';
import { gatherCorners } from '../../../../src/find/measure/gather-corners.ts';
import { solveCorners } from '../../../../src/find/measure/solve-corners.ts';
import type { Piece, RoofMap } from '../../../../src/find/measure/split-arcs.ts';

const STEP = 0.1;

/** Pieces between numbered corners; a line may be told apart from the chord of its corners. */
function mapOf(corners: readonly Vector2[], sides: readonly { ends: [number, number]; left: number; right: number; sigma: number; meets?: boolean; shift?: number }[]): RoofMap {
  const pieces = sides.map(({ ends: [from, to], left, right, sigma, meets = false, shift = 0 }): Piece => {
    const [a, b] = [corners[from]!, corners[to]!];
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const direction: Vector2 = [(b[0] - a[0]) / size, (b[1] - a[1]) / size];
    const at: Vector2 = [(a[0] + b[0]) / 2 - shift * direction[1], (a[1] + b[1]) / 2 + shift * direction[0]];
    return { left, right, from, to, line: { at, direction }, meets, cells: Math.round(size / STEP), sigma, sigmaAngle: (3.5 * sigma) / size, gone: false, counted: true, byRaster: false, drawn: false };
  });
  return { vertices: corners.map((at) => ({ at })), pieces, rings: [] };
}

const rectangle: Vector2[] = [[0, 0], [10, 0], [10, 6], [0, 6]];
const rim = (sigma: number) => [0, 1, 2, 3].map((i) => ({ ends: [i, (i + 1) % 4] as [number, number], left: 1, right: 0, sigma }));

/** Derivative of a ring's area by its corners. */
const areaWeights = (ring: readonly Vector2[]): CornerWeight[] =>
  ring.map((_, i) => {
    const [before, after] = [ring[(i + ring.length - 1) % ring.length]!, ring[(i + 1) % ring.length]!];
    return { vertex: i, x: (after[1] - before[1]) / 2, y: (before[0] - after[0]) / 2 };
  });

describe('corners adjusted together', () => {
  it('four sides known to 20 mm each leave 0.33 m² on 10 × 6 m (closed form, root of sum of length × sigma squared)', () => {
    const map = mapOf(rectangle, rim(0.02));
    const adjusted = adjustCorners(map, solveCorners(map, STEP), STEP);
    expect(adjusted.sigmaOf(areaWeights(rectangle))).toBeCloseTo(0.02 * Math.sqrt(272), 2);
    const length = adjusted.sigmaOf([{ vertex: 0, x: -1, y: 0 }, { vertex: 1, x: 1, y: 0 }]);
    // Both end sides, each turned by its own angle at the corner: sqrt(2) × 20 mm × sqrt(1 + 1.75²).
    expect(length).toBeCloseTo(Math.SQRT2 * 0.02 * Math.hypot(1, 1.75), 2);
  });

  it('puts corners where moved sides cross', () => {
    const map = mapOf(rectangle, rim(0.02).map((side, i) => ({ ...side, shift: i === 0 ? -0.05 : 0 })));
    const { positions } = adjustCorners(map, solveCorners(map, STEP), STEP);
    expect(positions[0]![1]).toBeCloseTo(-0.05, 3);
    expect(positions[1]![1]).toBeCloseTo(-0.05, 3);
    expect(positions[2]![1]).toBeCloseTo(6, 3);
  });
});

describe('corners gathered', () => {
  /** A valley that reaches the rim `gap` beside the corner it should run to. */
  const valley = (gap: number, sigma: number): RoofMap =>
    mapOf([...rectangle, [gap, 0], [6, 6]], [
      { ends: [0, 4], left: 1, right: 0, sigma: 0.005 },
      { ends: [4, 1], left: 2, right: 0, sigma: 0.005 },
      { ends: [1, 2], left: 2, right: 0, sigma: 0.005 },
      { ends: [2, 5], left: 2, right: 0, sigma: 0.005 },
      { ends: [5, 3], left: 1, right: 0, sigma: 0.005 },
      { ends: [3, 0], left: 1, right: 0, sigma: 0.005 },
      { ends: [4, 5], left: 1, right: 2, sigma, meets: true },
    ]);
  const gather = (map: RoofMap): number => gatherCorners(map, () => solveCorners(map, STEP));

  it('a poorly known valley runs to the corner it cannot be told from', () => {
    const map = valley(0.4, 0.2);
    expect(gather(map)).toBe(1);
    const solved = solveCorners(map, STEP);
    const { positions } = adjustCorners(map, solved, STEP);
    expect(map.pieces[6]!.from).toBe(0);
    expect(Math.hypot(...positions[0]!)).toBeLessThan(0.02);
  });

  it('a well known valley stays beside the corner', () => {
    expect(gather(valley(0.4, 0.02))).toBe(0);
  });
});
