import { describe, expect, it } from 'vitest';
import { buildCloud } from '../../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../../src/cloud/plan-grid.ts';
import { chooseVoxels } from '../../../../src/find/find-roof.ts';
import { mergeRegions } from '../../../../src/find/planes/merge-regions.ts';
import { newRegion, refit, type Region } from '../../../../src/find/planes/region.ts';
import { sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';
import { addMoments, buildVoxelTable, type VoxelTable } from '../../../../src/find/voxels/voxel-table.ts';
import { makeRandom } from '../../../fixtures/roof-points.ts';

const NOISE = 0.025;
const SPACING = 0.24;
/** Where one patch of a slope ends and the next begins. [m] */
const LINE = 5.4;

/** A slope of 35°, 9 m by 5 m, as two patches side by side. @param noiseAt  One sigma, along the normal. [m] */
function patches(noiseAt: (x: number) => number, heightAt: (x: number) => number = () => 0): { table: VoxelTable; regions: Region[]; regionOf: Int32Array } {
  const random = makeRandom(11);
  const points: number[] = [];
  for (let x = 0; x < 9; x += SPACING) {
    for (let y = 0; y < 5; y += SPACING) points.push(x, y, 0.7 * y + heightAt(x) + 1.22 * noiseAt(x) * random.normal());
  }
  const positions = Float64Array.from(points);
  const grid = planGrid({ min: [0, 0, -1], max: [9, 5, 6] }, positions.length / 3);
  const cloud = buildCloud([{ pointCount: positions.length / 3, positions, colours: null, intensity: null, classification: null }], grid);
  const voxels = chooseVoxels(cloud, SPACING);
  const table = buildVoxelTable(cloud, voxels, cloud.cells.map((cell) => sumVoxels({ cell, voxels })));
  const regionOf = new Int32Array(table.count);
  const regions = [newRegion(0), newRegion(table.count - 1)];
  for (let v = 0; v < table.count; v++) {
    const r = table.means[3 * v]! < LINE ? 0 : 1;
    regionOf[v] = r;
    regions[r]!.voxels.push(v);
    addMoments(table, v, regions[r]!.about, regions[r]!.moments);
  }
  for (const region of regions) refit(table, region);
  return { table, regions, regionOf };
}

const mergedCount = ({ table, regions, regionOf }: ReturnType<typeof patches>): number => mergeRegions(table, regions, regionOf, { noise: NOISE, inflation: 30 }).length;

describe('patches side by side', () => {
  it.each<[string, (x: number) => number]>([
    ['as rough as the cloud', () => NOISE],
    ['smoother than the cloud', () => 0.3 * NOISE],
    ['half as rough again on one side', (x) => (x < LINE ? 1 : 1.6) * NOISE],
    ['rough on both sides', () => 2.5 * NOISE],
    ['rougher on one side, and within the noise of the cloud', (x) => (x < LINE ? 0.2 : 1) * NOISE],
  ])('are one plane when they are %s', (_, noiseAt) => {
    expect(mergedCount(patches(noiseAt))).toBe(1);
  });

  it('are two where one is scatter, though it lies about the plane of the other', () => {
    const given = patches((x) => (x < LINE ? 0.7 : 3.2) * NOISE);
    const sound = { ...given.regions[0]! };
    expect(mergedCount(given)).toBe(2);
    expect([given.regions[0]!.a, given.regions[0]!.b, given.regions[0]!.c]).toEqual([sound.a, sound.b, sound.c]);
  });

  it('are two where one stands half a metre above the other', () => {
    expect(mergedCount(patches(() => NOISE, (x) => (x < LINE ? 0 : 0.5)))).toBe(2);
  });
});
