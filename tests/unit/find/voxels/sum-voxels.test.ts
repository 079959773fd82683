import { expect, it } from 'vitest';
import type { Cell } from '../../../../src/cloud/cloud.ts';
import { MOMENTS, sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';

const cellOf = (...points: number[][]): Cell => ({
  column: 0, row: 0, origin: [0, 0, 0], pointCount: points.length, positions: Float32Array.from(points.flat()),
  colours: null, intensity: null, classification: null,
});
const voxels = { size: 0.5, perCell: 4 };

it('counts and sums about the centre of each voxel', () => {
  const { count, columns, levels, sums } = sumVoxels({ cell: cellOf([1.5, 0.25, 0.75], [1.75, 0.25, 0.5], [0.1, 0.1, -0.1]), voxels });
  expect(count).toBe(2);
  expect([...columns]).toEqual([0, 3]);
  expect([...levels]).toEqual([-1, 1]);
  // Voxel 3 has its centre at 1.75, 0.25, 0.75: offsets (-0.25, 0, 0) and (0, 0, -0.25).
  expect(Array.from(sums.subarray(MOMENTS))).toEqual([2, -0.25, 0, -0.25, 0.0625, 0, 0, 0, 0, 0.0625]);
});

it('lists a wall of many levels in order, from below zero up', () => {
  const points = Array.from({ length: 60 }, (_, i) => [0.2, 0.2, (((i * 7) % 60) - 20) * 0.5 + 0.1]);
  const { count, levels } = sumVoxels({ cell: cellOf(...points), voxels });
  expect(count).toBe(60);
  expect([...levels]).toEqual(Array.from({ length: 60 }, (_, i) => i - 20));
});

it('keeps points on the far rim and beyond it in the last voxel', () => {
  const { columns } = sumVoxels({ cell: cellOf([2, 2, 0], [2.4, -0.3, 0]), voxels });
  expect([...columns]).toEqual([3, 15]);
});

it('has nothing to say about an empty cell', () => {
  expect(sumVoxels({ cell: cellOf(), voxels }).count).toBe(0);
});
