import { describe, expect, it } from 'vitest';
import type { LocalPoints } from '../../src/cloud/bin-into-cells.ts';
import { buildCloud } from '../../src/cloud/build-cloud.ts';
import { findRoof } from '../../src/find/find-roof.ts';
import { directKernels, type RoofKernels } from '../../src/find/roof-kernels.ts';
import { poolPart, roomForNormals } from '../../src/find/voxels/pooled-normals.ts';
import { listNeighbours } from '../../src/find/voxels/voxel-table.ts';
import type { RoofSegment } from '../../src/find/segmentation.ts';
import { cloudOf, fallsToDrain, gable, hip, makeRandom, samplePoints } from '../fixtures/roof-points.ts';

const roofs = [['gable', gable(35)], ['hip', hip(22)], ['falls', fallsToDrain()]] as const;
const degrees = 180 / Math.PI;
const pitches = (segments: readonly RoofSegment[]): number[] => segments.map((s) => Math.acos(s.normal[2]) * degrees).sort((a, b) => a - b);

const moved = (points: LocalPoints, by: (p: readonly number[]) => readonly number[]): LocalPoints => {
  const positions = new Float64Array(points.positions.length);
  for (let i = 0; i < positions.length; i += 3) positions.set(by([...points.positions.subarray(i, i + 3)]), i);
  return { ...points, positions };
};

describe.each(roofs)('a segmentation of %s', (_, slabs) => {
  const points = samplePoints(slabs, { spacing: 0.12, seed: 11 });

  it('is the same for shuffled points (seed 4)', async () => {
    const { next } = makeRandom(4);
    const order = Array.from({ length: points.pointCount }, (_, i) => ({ i, key: next() })).sort((a, b) => a.key - b.key);
    const shuffled = { ...points, positions: Float64Array.from(order.flatMap(({ i }) => [...points.positions.subarray(3 * i, 3 * i + 3)])) };
    expect(await findRoof(cloudOf(shuffled))).toEqual(await findRoof(cloudOf(points)));
  });

  it('is the same whoever does the work, in whatever batches and order', async () => {
    let clusterCount = 0;
    const backwards: RoofKernels = {
      async sumVoxels(work) {
        const answers = [];
        for (const item of [...work].reverse()) answers.unshift((await directKernels.sumVoxels([structuredClone(item)]))[0]!);
        return answers;
      },
      async poolNormals(table, skip) {
        const pooled = roomForNormals(table);
        const parts = [];
        for (let to = table.count; to > 0; to -= 700) parts.unshift(poolPart({ table, skip, pooled, from: Math.max(0, to - 700), to }));
        listNeighbours(table, parts);
        return pooled;
      },
      async labelCells(work) {
        const answers = [];
        for (const item of [...work].reverse()) answers.unshift((await directKernels.labelCells([structuredClone(item)]))[0]!);
        return answers;
      },
      async splitClusters(search, clusters) {
        const answers = [];
        for (const cluster of [...clusters].reverse()) answers.unshift((await directKernels.splitClusters(structuredClone(search), [structuredClone(cluster)]))[0]!);
        clusterCount = clusters.length;
        return answers;
      },
    };
    const cloud = cloudOf(points, 2_000_000);
    expect(cloud.cells.length).toBeGreaterThan(3);
    expect(await findRoof(cloud, {}, backwards)).toEqual(await findRoof(cloud));
    expect(clusterCount).toBeGreaterThan(0);
  });

  it('keeps planes and pitches when the roof is turned by 33° or moved by 137 m', async () => {
    const [cos, sin] = [Math.cos(0.576), Math.sin(0.576)];
    const plain = pitches((await findRoof(cloudOf(points))).segments);
    const turned = pitches((await findRoof(cloudOf(moved(points, ([x, y, z]) => [x! * cos - y! * sin, x! * sin + y! * cos, z!])))).segments);
    const shifted = pitches((await findRoof(cloudOf(moved(points, ([x, y, z]) => [x! + 137.21, y! - 53.77, z! + 812.4])))).segments);
    for (const other of [turned, shifted]) {
      expect(other).toHaveLength(plain.length);
      // 6 mm of noise over 4 m at 0.12 m spacing: 0.01° one sigma for the smallest plane here.
      other.forEach((pitch, i) => expect(Math.abs(pitch - plain[i]!)).toBeLessThan(0.06));
    }
  });

  it('keeps planes and pitches when every fifth point is there twice', async () => {
    const twice: number[] = [...points.positions];
    for (let i = 0; i < points.pointCount; i += 5) twice.push(...points.positions.subarray(3 * i, 3 * i + 3));
    const doubled = { ...points, pointCount: twice.length / 3, positions: Float64Array.from(twice) };
    const plain = pitches((await findRoof(cloudOf(points))).segments);
    const again = pitches((await findRoof(cloudOf(doubled))).segments);
    expect(again).toHaveLength(plain.length);
    again.forEach((pitch, i) => expect(Math.abs(pitch - plain[i]!)).toBeLessThan(0.04));
  });
});

it('does not depend on how the cloud is cut into cells but for rounding of the voxels', async () => {
  const points = samplePoints(gable(35), { spacing: 0.12, seed: 2 });
  const coarse = await findRoof(cloudOf(points));
  const fine = await findRoof(cloudOf(points, 3_000_000));
  expect(fine.segments).toHaveLength(coarse.segments.length);
  pitches(fine.segments).forEach((pitch, i) => expect(Math.abs(pitch - pitches(coarse.segments)[i]!)).toBeLessThan(0.06));
});

it('takes a cloud in several batches for the same cloud', async () => {
  const points = samplePoints(gable(35), { spacing: 0.12, seed: 2 });
  const whole = cloudOf(points);
  const half = points.pointCount >> 1;
  const parts = [[0, half], [half, points.pointCount]].map(([a, b]) => ({
    ...points, pointCount: b! - a!, positions: points.positions.slice(3 * a!, 3 * b!),
  }));
  expect(await findRoof(buildCloud(parts, whole.grid))).toEqual(await findRoof(whole));
});
