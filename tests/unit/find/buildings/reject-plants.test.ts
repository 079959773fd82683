import { describe, expect, it } from 'vitest';
import { rejectPlants } from '../../../../src/find/buildings/reject-plants.ts';
import { findRoof } from '../../../../src/find/find-roof.ts';
import type { Region } from '../../../../src/find/planes/region.ts';
import { buildVoxelTable } from '../../../../src/find/voxels/voxel-table.ts';
import { sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';
import { cloudOf, gable, makeRandom, samplePoints } from '../../../fixtures/roof-points.ts';


/** A level square as one region, its voxels leaning by what `lean` says. Angles from the sine, not from a cloud. */
function surface(side: number, sigmas: number, lean: number): { kept: boolean } {
  const noise = 0.02;
  const cloud = cloudOf(samplePoints([{ plan: [0, 0, side, side], height: 5, isRoof: true }], { spacing: 0.1, noise: 0, ground: null }));
  const voxels = { size: cloud.grid.cellSize / 32, perCell: 32 };
  const cells = cloud.cells.map((cell) => sumVoxels({ cell, voxels }));
  const table = buildVoxelTable(cloud, voxels, cells);
  const normals = new Float64Array(3 * table.count);
  for (let v = 0; v < table.count; v++) normals.set([v % 2 === 0 ? lean : -lean, 0, Math.sqrt(1 - lean * lean)], 3 * v);
  const region = { voxels: Array.from({ length: table.count }, (_, v) => v), a: 0, b: 0, c: 1, sigma: sigmas * noise } as unknown as Region;
  const pooled = { normals, thickness: new Float64Array(table.count), breadth: new Float32Array(table.count) };
  return { kept: rejectPlants(table, [region], pooled, [[0]], noise).length === 1 };
}

describe('what stands alone and is as rough as leaves', () => {
  it.each([
    ['a small roof as flat as the noise', 2.5, 1, 0.3, true],
    ['a small roof twice as rough, its voxels level', 2.5, 2, 0.1, true],
    ['a small crown', 2.5, 2, 0.35, false],
    ['a dark flat roof, twice as rough', 6, 2, 0.3, true],
    ['a large crown', 6, 3, 0.3, false],
  ] as const)('%s', (_what, side, sigmas, lean, kept) => expect(surface(side, sigmas, lean).kept).toBe(kept));

  it('a roof much rougher than the ground is found all the same: moss and tiles scatter as well', async () => {
    const points = samplePoints(gable(), { spacing: 0.19, noise: 0.02, ground: [-14, -14, 36, 24] });
    const { normal } = makeRandom(9);
    const rough = points.positions.map((value, i) => (i % 3 === 2 && value > 2 ? value + 0.035 * normal() : value));
    const { segments } = await findRoof(cloudOf({ ...points, positions: rough }));
    expect(segments).toHaveLength(2);
  });
});
