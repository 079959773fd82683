import { describe, expect, it } from 'vitest';
import { bestCut } from '../../../../src/find/facets/cut-facets.ts';
import { chooseVoxels } from '../../../../src/find/find-roof.ts';
import { newRegion, refit, type Region } from '../../../../src/find/planes/region.ts';
import { sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';
import { addMoments, buildVoxelTable, type VoxelTable } from '../../../../src/find/voxels/voxel-table.ts';
import { buildCloud } from '../../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../../src/cloud/plan-grid.ts';

/** A surface 12 m by 8 m, exact, as one region of voxels. */
function surface(heightAt: (x: number, y: number) => number): { table: VoxelTable; whole: Region } {
  const points: number[] = [];
  for (let x = 0; x < 12; x += 0.08) for (let y = 0; y < 8; y += 0.08) points.push(x, y, heightAt(x, y));
  const positions = Float64Array.from(points);
  const grid = planGrid({ min: [0, 0, -1], max: [12, 8, 3] }, positions.length / 3);
  const cloud = buildCloud([{ pointCount: positions.length / 3, positions, colours: null, intensity: null, classification: null }], grid);
  const voxels = chooseVoxels(cloud, 0.08);
  const table = buildVoxelTable(cloud, voxels, cloud.cells.map((cell) => sumVoxels({ cell, voxels })));
  const whole = newRegion(0);
  for (let v = 0; v < table.count; v++) {
    whole.voxels.push(v);
    addMoments(table, v, 0, whole.moments);
  }
  refit(table, whole);
  return { table, whole };
}

describe('the best cut of a facet', () => {
  it.each([[0, 5], [Math.PI / 6, 6.2], [Math.PI / 2, 4]])('lies on the line where two falls of 2 %% meet (direction %f)', (angle, place) => {
    const across = (x: number, y: number): number => Math.cos(angle) * x + Math.sin(angle) * y - place;
    const { table, whole } = surface((x, y) => 0.02 * Math.abs(across(x, y)));
    const cut = bestCut(table, whole, 40)!;
    const wrong = [cut.left, cut.right].map(({ voxels }) => {
      const beyond = voxels.filter((v) => across(table.means[3 * v]!, table.means[3 * v + 1]!) > 0).length;
      return Math.min(beyond, voxels.length - beyond);
    });
    expect((wrong[0]! + wrong[1]!) / whole.voxels.length).toBeLessThan(0.06);
    expect(cut.gain).toBeGreaterThan(0);
  });

  it('gains nothing on one plane', () => {
    const { table, whole } = surface((x, y) => 0.02 * x - 0.01 * y);
    expect(bestCut(table, whole, 40)?.gain ?? 0).toBeLessThan(1e-6);
  });

  it('leaves enough on both sides, or says that it cannot', () => {
    const { table, whole } = surface((x) => 0.02 * Math.abs(x - 0.3));
    const cut = bestCut(table, whole, 200);
    expect(Math.min(cut!.left.voxels.length, cut!.right.voxels.length)).toBeGreaterThanOrEqual(200);
    expect(bestCut(table, whole, whole.voxels.length)).toBeNull();
  });
});
