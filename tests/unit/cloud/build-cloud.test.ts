import { expect, it } from 'vitest';
import { assembleCloud, buildCloud } from '../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../src/cloud/plan-grid.ts';
import { gable, samplePoints } from '../../fixtures/roof-points.ts';

const points = samplePoints(gable());
const bounds = { min: [0, 0, -1] as const, max: [24, 20, 9] as const };

it('holds every point once, cells in row order, bounds from the points', () => {
  const grid = planGrid(bounds, 2_000_000);
  const cloud = buildCloud([points], grid);
  expect(cloud.pointCount).toBe(points.pointCount);
  expect(cloud.cells.reduce((sum, cell) => sum + cell.pointCount, 0)).toBe(points.pointCount);
  const places = cloud.cells.map((cell) => cell.row * grid.columns + cell.column);
  expect(places).toEqual([...places].sort((a, b) => a - b));
  expect(places.length).toBeGreaterThan(4);
  const highest = points.positions.reduce((top, value, i) => (i % 3 === 2 && value > top ? value : top), -Infinity);
  expect(cloud.bounds.max[2]).toBeCloseTo(highest, 5);
});

it('is the same cloud from one batch or three', () => {
  const grid = planGrid(bounds, points.pointCount);
  const cut = [0, 1000, 20_001, points.pointCount];
  const batches = cut.slice(1).map((end, i) => ({ ...points, pointCount: end - cut[i]!, positions: points.positions.slice(3 * cut[i]!, 3 * end) }));
  expect(buildCloud(batches.reverse(), grid)).toEqual(buildCloud([points], grid));
});

it('refuses a cloud without points', () => {
  expect(() => assembleCloud(planGrid(bounds, 1), [])).toThrow(RangeError);
});
