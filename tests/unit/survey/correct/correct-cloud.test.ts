import { describe, expect, it } from 'vitest';
import { buildCloud } from '../../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../../src/cloud/plan-grid.ts';
import { seededRandom } from '../../../../src/geometry/seeded-random.ts';
import type { AppliedCorrection } from '../../../../src/roof/record.ts';
import { movedCell, movedCloud } from '../../../../src/survey/correct/correct-cloud.ts';
import { movesOf } from '../../../../src/survey/correct/move-model.ts';

const applied = (kind: AppliedCorrection['kind'], amount: number | null): AppliedCorrection => ({ kind, amount, u95: 0.001, about: [10, 20, 5], readings: [], by: '', at: '', why: '' });

describe('points follow a correction of the model', () => {
  const { uniform } = seededRandom(3);
  const positions = Float64Array.from({ length: 3 * 5000 }, () => 40 * uniform());
  const grid = planGrid({ min: [0, 0, 0], max: [40, 40, 40] }, 5000);
  const cloud = buildCloud([{ pointCount: 5000, positions, colours: null, intensity: null, classification: null }], grid);

  it('by the same stretch as its places, to a hundredth of a millimetre, and stay in their cells', () => {
    const moves = movesOf([applied('scale', 0.01), applied('shift', null), applied('edge', 0.05), applied('vertical-scale', 0.02)], 0);
    expect(moves).toHaveLength(2);
    const cells = cloud.cells.map((cell) => movedCell(cell, moves));
    const { grid: moved } = movedCloud(cloud, cells, moves);
    let checked = 0;
    cells.forEach((cell, c) => {
      const before = cloud.cells[c]!;
      for (let i = 0; i < before.pointCount; i++) {
        const at = [0, 1, 2].map((axis) => before.origin[axis]! + before.positions[3 * i + axis]!);
        // Written out: all by 1 / 1.01 about the fixed point, then heights by 1 / 1.02 more.
        const wanted = at.map((v, axis) => [10, 20, 5][axis]! + (v - [10, 20, 5][axis]!) / 1.01 / (axis === 2 ? 1.02 : 1));
        const now = [0, 1, 2].map((axis) => cell.origin[axis]! + cell.positions[3 * i + axis]!);
        now.forEach((v, axis) => expect(Math.abs(v - wanted[axis]!)).toBeLessThan(1e-5));
        expect(Math.floor((now[0]! - moved.origin[0] + 1e-5) / moved.cellSize) - cell.column).toBeGreaterThanOrEqual(0);
        checked++;
      }
    });
    expect(checked).toBe(5000);
  });

  it('and nothing is done for what moves no point against another', () => expect(movesOf([applied('shift', null), applied('edge', 0.1)], 0)).toEqual([]));
});
