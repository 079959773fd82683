import { expect, it } from 'vitest';
import { planGrid } from '../../../src/cloud/plan-grid.ts';

it('cuts an even cloud into cells of some 80 000 points', () => {
  const grid = planGrid({ min: [0, 0, 0], max: [100, 100, 10] }, 8_000_000);
  expect(grid.cellSize).toBe(10);
  expect([grid.columns, grid.rows]).toEqual([11, 11]);
});

it('covers the bounds, both ends included, also below zero', () => {
  const { origin, cellSize, columns, rows } = planGrid({ min: [-7.3, 12.1, 0], max: [41.9, 30, 9] }, 1_000_000);
  expect(origin[0]).toBeLessThanOrEqual(-7.3);
  expect(origin[1]).toBeLessThanOrEqual(12.1);
  expect(origin[0] + columns * cellSize).toBeGreaterThan(41.9);
  expect(origin[1] + rows * cellSize).toBeGreaterThan(30);
});

it('keeps its lines when an outermost point moves a little', () => {
  const a = planGrid({ min: [0, 0, 0], max: [83.11, 64.02, 5] }, 3_000_000);
  const b = planGrid({ min: [0.004, 0, 0], max: [83.12, 64.01, 5] }, 3_000_000);
  expect(b).toEqual(a);
});

it('stays small for one point, a sparse region and a stray point far away', () => {
  expect(planGrid({ min: [5, 5, 5], max: [5, 5, 5] }, 1)).toMatchObject({ columns: 1, rows: 1 });
  expect(planGrid({ min: [0, 0, 0], max: [3000, 3000, 5] }, 1000).cellSize).toBe(130);
  const far = planGrid({ min: [0, 0, 0], max: [1e6, 1e6, 5] }, 1_000_000);
  expect(far.columns * far.rows).toBeLessThan(1_100_000);
});

it('refuses bounds that are not finite or turned round', () => {
  expect(() => planGrid({ min: [0, Number.NaN, 0], max: [1, 1, 1] }, 10)).toThrow(RangeError);
  expect(() => planGrid({ min: [2, 0, 0], max: [1, 1, 1] }, 10)).toThrow(RangeError);
});
