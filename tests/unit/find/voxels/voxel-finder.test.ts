import { expect, it } from 'vitest';
import { VoxelFinder } from '../../../../src/find/voxels/voxel-finder.ts';

it('finds what was put in, near and far, and nothing of the cell before', () => {
  const finder = new VoxelFinder();
  // So many columns that only four of two million levels find room in the table.
  const columns = 2 ** 20;
  const places = [[0, -1_000_000], [0, 7], [columns - 1, 8], [5, 9], [5, 10], [5, 1_000_000]] as const;
  finder.begin(columns, -1_000_000, 1_000_000, 8);
  places.forEach(([column, level], voxel) => finder.put(column, level, voxel));
  places.forEach(([column, level], voxel) => expect(finder.find(column, level)).toBe(voxel));
  for (const [column, level] of [[0, 8], [1, -1_000_000], [5, 11], [5, -8], [columns - 2, 8]] as const) expect(finder.find(column, level)).toBe(-1);
  finder.end(Uint32Array.from(places, ([column]) => column), Int32Array.from(places, ([, level]) => level), places.length);
  finder.begin(columns, 5, 12, 8);
  for (const [column, level] of places) expect(finder.find(column, level)).toBe(-1);
});
