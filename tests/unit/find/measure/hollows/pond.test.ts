import { describe, expect, it } from 'vitest';
import type { DeckHeights } from '../../../../../src/find/measure/hollows/deck-heights.ts';
import { pondOf } from '../../../../../src/find/measure/hollows/pond.ts';
import { persistentMinima } from '../../../../../src/geometry/persistent-minima.ts';
import { signedPlanArea } from '../../../../../src/geometry/polygon.ts';

const SIDE = 100;
const STEP = 0.1;

describe('pond of a hollow', () => {
  it('a bowl in a level deck holds a disc of water as high as its rim', () => {
    const smooth = Float64Array.from({ length: SIDE * SIDE }, (_, k) => {
      const away = Math.hypot(((k % SIDE) + 0.5) * STEP - 5, (Math.floor(k / SIDE) + 0.5) * STEP - 5);
      return 7 + Math.min(0, 0.02 * (away - 3)) + Math.max(0, 0.05 * (3.5 - Math.abs(away - 3.5))) * (away > 3 ? 1 : 0) * 0.1 - (away > 4.5 ? 0.03 : 0);
    });
    const deck: DeckHeights = { origin: [0, 0], step: STEP, columns: SIDE, rows: SIDE, smooth, heights: smooth, weights: smooth.map(() => 4), face: new Uint16Array(SIDE * SIDE).fill(1), isEmpty: new Uint8Array(SIDE * SIDE), smoothing: 0.3 };
    const [minimum] = persistentMinima(smooth, SIDE, SIDE, 0.01, true);
    const pond = pondOf(minimum!, smooth, deck, 0.001)!;
    const under = minimum!.members.filter((k) => smooth[k]! <= smooth[minimum!.cell]! + minimum!.persistence).length * STEP * STEP;
    expect(signedPlanArea(pond.outline)).toBeGreaterThan(0.95 * under);
    expect(signedPlanArea(pond.outline)).toBeLessThan(1.05 * under);
    expect(pond.planAreaM2.value).toBeCloseTo(under, 9);
    expect(Math.sqrt(under / Math.PI)).toBeGreaterThan(2.9);
    for (const [, , z] of pond.outline) expect(z).toBeCloseTo(smooth[minimum!.cell]! + minimum!.persistence, 9);
  });

  it('a hollow of one cell, or of two in a row, still has an outline that encloses it', () => {
    for (const cells of [[1, 1], [2, 1], [1, 2], [2, 2]] as const) {
      const smooth = Float64Array.from({ length: SIDE * SIDE }, (_, k) => {
        const [column, row] = [k % SIDE, Math.floor(k / SIDE)];
        return 7 + (column >= 50 && column < 50 + cells[0] && row >= 50 && row < 50 + cells[1] ? -0.05 : 0.001 * Math.hypot(column - 50, row - 50));
      });
      const deck: DeckHeights = { origin: [0, 0], step: STEP, columns: SIDE, rows: SIDE, smooth, heights: smooth, weights: smooth.map(() => 4), face: new Uint16Array(SIDE * SIDE).fill(1), isEmpty: new Uint8Array(SIDE * SIDE), smoothing: 0.3 };
      const members = smooth.reduce<number[]>((all, z, k) => (z < 7 ? [...all, k] : all), []);
      const pond = pondOf({ cell: members[0]!, persistence: 0.02, cells: members.length, members }, smooth, deck, 0.001)!;
      expect(pond.outline.length).toBeGreaterThanOrEqual(4);
      expect(signedPlanArea(pond.outline)).toBeCloseTo(cells[0] * cells[1] * STEP * STEP, 9);
    }
  });
});
