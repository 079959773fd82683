import { expect, it } from 'vitest';
import { chooseVoxels } from '../../../../src/find/find-roof.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../../../src/geometry/fit-moments.ts';
import { MOMENTS, sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';
import { poolNormals } from '../../../../src/find/voxels/pooled-normals.ts';
import { addMoments, buildVoxelTable, centreX, centreY, centreZ, neighboursOf } from '../../../../src/find/voxels/voxel-table.ts';
import { cloudOf, gable, samplePoints } from '../../../fixtures/roof-points.ts';

// Many small cells, so that neighbours lie across their walls.
const points = samplePoints(gable(), { spacing: 0.2 });
const cloud = cloudOf(points, 3_000_000);
const voxels = chooseVoxels(cloud, 0.2);
const table = buildVoxelTable(cloud, voxels, cloud.cells.map((cell) => sumVoxels({ cell, voxels })));

it('holds every point', () => {
  expect(cloud.cells.length).toBeGreaterThan(20);
  let total = 0;
  for (let v = 0; v < table.count; v++) total += table.sums[MOMENTS * v]!;
  expect(total).toBe(points.pointCount);
});

it('finds the same neighbours as a search through all voxels, also across cells', () => {
  const near = new Int32Array(26);
  let across = 0;
  for (let v = 0; v < table.count; v += 37) {
    const found = neighboursOf(table, v, near);
    const wanted: number[] = [];
    for (let u = 0; u < table.count; u++) {
      const far = Math.max(Math.abs(table.x[u]! - table.x[v]!), Math.abs(table.y[u]! - table.y[v]!), Math.abs(table.level[u]! - table.level[v]!));
      if (u !== v && far <= 1) wanted.push(u);
    }
    expect([...near.subarray(0, found)].sort((a, b) => a - b)).toEqual(wanted);
    const cellOf = (u: number): number => table.cellFirst.findIndex((first) => first > u);
    if (wanted.some((u) => cellOf(u) !== cellOf(v))) across++;
  }
  expect(across).toBeGreaterThan(5);
});

it('lists the same neighbours in the same order, whether they were kept or are searched', () => {
  const other = buildVoxelTable(cloud, voxels, cloud.cells.map((cell) => sumVoxels({ cell, voxels })));
  const skip = Uint8Array.from({ length: other.count }, (_, v) => (v % 3 === 0 ? 1 : 0));
  poolNormals(other, skip);
  expect(other.listed!.first[other.count]).toBe(other.listed!.list.length);
  const [kept, searched] = [new Int32Array(26), new Int32Array(26)];
  for (let v = 0; v < other.count; v++) {
    const found = neighboursOf(other, v, kept);
    expect(found).toBe(neighboursOf(table, v, searched));
    expect(kept.subarray(0, found)).toEqual(searched.subarray(0, found));
  }
});

it('moves moments between voxels without changing what they describe', () => {
  const moments = new Float64Array(MOMENTS);
  const about = 5;
  const far = table.count - 3;
  addMoments(table, far, about, moments);
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(moments, fit);
  const w = 1 / moments[0]!;
  expect(centreX(table, about) + moments[1]! * w).toBeCloseTo(table.means[3 * far]!, 9);
  expect(centreY(table, about) + moments[2]! * w).toBeCloseTo(table.means[3 * far + 1]!, 9);
  expect(centreZ(table, about) + moments[3]! * w).toBeCloseTo(table.means[3 * far + 2]!, 9);
  const own = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(table.sums.slice(MOMENTS * far, MOMENTS * far + MOMENTS), own);
  for (let k = 3; k < 6; k++) expect(fit[k]).toBeCloseTo(own[k]!, 9);
});
