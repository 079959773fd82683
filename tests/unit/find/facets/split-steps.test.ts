import { describe, expect, it } from 'vitest';
import { buildCloud } from '../../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../../src/cloud/plan-grid.ts';
import { splitSteps } from '../../../../src/find/facets/split-steps.ts';
import { chooseVoxels } from '../../../../src/find/find-roof.ts';
import { newRegion, refit, type Region } from '../../../../src/find/planes/region.ts';
import { sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';
import { addMoments, buildVoxelTable, type VoxelTable } from '../../../../src/find/voxels/voxel-table.ts';
import { makeRandom } from '../../../fixtures/roof-points.ts';

const NOISE = 0.015;

/** Points 12 m by 8 m over a slope of 35° with what is given on top, taken for one plane. */
function roof(onTop: (x: number, y: number) => number, spacing = 0.12): { table: VoxelTable; whole: Region; regionOf: Int32Array } {
  const random = makeRandom(7);
  const points: number[] = [];
  for (let x = 0; x < 12; x += spacing) {
    for (let y = 0; y < 8; y += spacing) {
      points.push(x, y, 0.7 * y + onTop(x, y) + NOISE * random.normal());
    }
  }
  const positions = Float64Array.from(points);
  const grid = planGrid({ min: [0, 0, -1], max: [12, 8, 8] }, positions.length / 3);
  const cloud = buildCloud([{ pointCount: positions.length / 3, positions, colours: null, intensity: null, classification: null }], grid);
  const voxels = chooseVoxels(cloud, spacing);
  const table = buildVoxelTable(cloud, voxels, cloud.cells.map((cell) => sumVoxels({ cell, voxels })));
  const whole = newRegion(0);
  for (let v = 0; v < table.count; v++) {
    whole.voxels.push(v);
    addMoments(table, v, 0, whole.moments);
  }
  refit(table, whole);
  return { table, whole, regionOf: new Int32Array(table.count) };
}

function partsOf(onTop: (x: number, y: number) => number, spacing?: number): { table: VoxelTable; parts: Region[]; regionOf: Int32Array } {
  const { table, whole, regionOf } = roof(onTop, spacing);
  return { table, parts: splitSteps(table, [whole], regionOf, [true], { noise: NOISE, inflation: 30 }), regionOf };
}

describe('steps in one plane', () => {
  it.each([0.12, 0.24])('cuts two houses apart whose roofs lie 5 cm apart, %f m between points', (spacing) => {
    const { table, parts, regionOf } = partsOf((x) => (x > 6.6 ? 0.05 : 0), spacing);
    expect(parts).toHaveLength(2);
    const places = parts.map(({ voxels }) => voxels.map((v) => table.means[3 * v]!)).sort((a, b) => a[0]! - b[0]!);
    const wrong = places[0]!.filter((x) => x > 6.6).length + places[1]!.filter((x) => x < 6.6).length;
    expect(wrong / table.count).toBeLessThan(0.05);
    parts.forEach(({ voxels }, part) => expect(voxels.every((v) => regionOf[v] === part)).toBe(true));
  });

  it('cuts a row of three', () => {
    expect(partsOf((x) => (x > 8.2 ? 0.04 : x > 4.1 ? -0.05 : 0)).parts).toHaveLength(3);
  });

  it.each<[string, (x: number, y: number) => number]>([
    ['is even', () => 0],
    ['sags by 12 cm', (x) => -0.12 * (1 - ((x - 6) / 6) ** 2)],
    ['bends by 2.5°', (x) => 0.044 * Math.max(0, x - 5)],
    ['twists', (x, y) => 0.003 * (x - 6) * (y - 4)],
    ['lies a tile higher from the middle on', (x) => (x > 6 ? 0.012 : 0)],
    ['has a sheet on its lower half', (x, y) => (x > 6 && y < 4 ? 0.05 : 0)],
    ['waves by 2 cm every 3 m', (x) => 0.02 * Math.sin((2 * Math.PI * x) / 3)],
  ])('leaves whole what %s', (_, onTop) => {
    expect(partsOf(onTop).parts).toHaveLength(1);
  });
});
