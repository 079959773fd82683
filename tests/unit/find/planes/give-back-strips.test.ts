import { describe, expect, it } from 'vitest';
import { buildCloud } from '../../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../../src/cloud/plan-grid.ts';
import { chooseVoxels } from '../../../../src/find/find-roof.ts';
import { giveBackStrips } from '../../../../src/find/planes/give-back-strips.ts';
import { newRegion, refit, type Region } from '../../../../src/find/planes/region.ts';
import { sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';
import { addMoments, buildVoxelTable, type VoxelTable } from '../../../../src/find/voxels/voxel-table.ts';
import { makeRandom } from '../../../fixtures/roof-points.ts';

const NOISE = 0.02;
const SPACING = 0.05;
const DEPTH = 6;
const LENGTH = 9;

interface Deck {
  readonly table: VoxelTable;
  readonly regions: Region[];
  readonly regionOf: Int32Array;
}

/** A fall of 2 %, its last metres before the rim taken for a plane of their own. @param heightAt  Of the strip, by distance from where it begins. [m] */
function deck(width: number, heightAt: (d: number, along: number) => number): Deck {
  const random = makeRandom(5);
  const begin = DEPTH - width;
  const points: number[] = [];
  for (let x = 0; x < LENGTH; x += SPACING) {
    for (let y = 0; y < DEPTH; y += SPACING) {
      points.push(x, y, (y < begin ? 0.02 * y : 0.02 * begin + heightAt(y - begin, x)) + NOISE * random.normal());
    }
  }
  const positions = Float64Array.from(points);
  const grid = planGrid({ min: [0, 0, -1], max: [LENGTH, DEPTH, 2] }, positions.length / 3);
  const cloud = buildCloud([{ pointCount: positions.length / 3, positions, colours: null, intensity: null, classification: null }], grid);
  const voxels = chooseVoxels(cloud, SPACING);
  const table = buildVoxelTable(cloud, voxels, cloud.cells.map((cell) => sumVoxels({ cell, voxels })));
  const regionOf = new Int32Array(table.count);
  const regions = [newRegion(0), newRegion(table.count - 1)];
  for (let v = 0; v < table.count; v++) {
    const r = table.means[3 * v + 1]! < begin ? 0 : 1;
    regionOf[v] = r;
    regions[r]!.voxels.push(v);
    addMoments(table, v, regions[r]!.about, regions[r]!.moments);
  }
  for (const region of regions) refit(table, region);
  return { table, regions, regionOf };
}

const shareGiven = ({ table, regions, regionOf }: Deck, isRoof = [true, false]): number => {
  const before = regions[1]!.voxels.length;
  const given = giveBackStrips(table, regions, regionOf, [true, true], isRoof, NOISE);
  regions.forEach(({ voxels }, r) => expect(voxels.every((v) => regionOf[v] === r)).toBe(true));
  expect(regions[0]!.voxels.length + regions[1]!.voxels.length).toBe(table.count);
  expect(given).toBe(before - regions[1]!.voxels.length);
  return given / before;
};

describe('a strip that was refused as a roof plane', () => {
  it('goes back to the fall whose rim it is, whole, where a wave of noise made it level', () => {
    expect(shareGiven(deck(1.2, () => 0.008))).toBeGreaterThan(0.99);
  });

  it.each<[string, number, (d: number, along: number) => number]>([
    ['the top of a parapet', 0.5, () => 0.3],
    ['turned by 8°, a rounded rim', 0.33, (d) => -0.14 * d],
    ['clutter on the fall', 0.7, (d, along) => 0.02 * d + 0.035 * (Math.round((d + along) / SPACING) % 2 === 0 ? 1 : -1)],
    ['on the fall at one end only', 0.7, (_, along) => 0.03 * along],
  ])('stays what it is: %s', (_, width, heightAt) => {
    expect(shareGiven(deck(width, heightAt))).toBe(0);
  });

  it('is left alone where it is a roof plane', () => {
    expect(shareGiven(deck(1.2, () => 0.008), [true, true])).toBe(0);
  });
});
