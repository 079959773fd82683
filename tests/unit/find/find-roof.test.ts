import { describe, expect, it } from 'vitest';
import type { Cloud } from '../../../src/cloud/cloud.ts';
import { findRoof } from '../../../src/find/find-roof.ts';
import type { RoofSegment, Segmentation } from '../../../src/find/segmentation.ts';
import { attitudeOf, cloudOf, clutter, dormer, fallsToDrain, gable, hip, makeRandom, samplePoints, type SampleOptions, type Slab } from '../../fixtures/roof-points.ts';

const degrees = 180 / Math.PI;
const pitchOf = (segment: RoofSegment): number => Math.acos(segment.normal[2]) * degrees;
const azimuthOf = (segment: RoofSegment): number => (Math.atan2(segment.normal[0], segment.normal[1]) * degrees + 360) % 360;
const apart = (a: number, b: number): number => Math.abs(((a - b + 540) % 360) - 180);

async function find(slabs: readonly Slab[], options: SampleOptions = {}): Promise<{ cloud: Cloud; found: Segmentation }> {
  const cloud = cloudOf(samplePoints(slabs, options));
  return { cloud, found: await findRoof(cloud) };
}

/** Expects exactly one segment for each roof slab, with its pitch and bearing. */
function expectPlanes(found: Segmentation, slabs: readonly Slab[], pitchWithin: number): void {
  const roofs = slabs.filter((slab) => slab.isRoof);
  expect(found.segments).toHaveLength(roofs.length);
  const left = new Set(found.segments);
  for (const slab of roofs) {
    const { pitchDeg, azimuthDeg } = attitudeOf(slab);
    const match = [...left].find((segment) => Math.abs(pitchOf(segment) - pitchDeg) < pitchWithin && apart(azimuthOf(segment), azimuthDeg) < 3);
    expect(match, `a plane of ${pitchDeg.toFixed(1)}° facing ${azimuthDeg.toFixed(0)}°`).toBeDefined();
    left.delete(match!);
  }
}

describe('findRoof', () => {
  it.each([['a gable', gable()], ['a steep gable', gable(52)], ['a hip', hip()], ['falls of 1.5 % to a drain', fallsToDrain()]] as const)(
    'finds the planes of %s',
    async (_, slabs) => {
      const { found } = await find(slabs);
      expectPlanes(found, slabs, 0.1);
      expect(found.ground.seen).toBe(true);
      expect(found.buildings).toHaveLength(1);
      for (const segment of found.segments) expect(segment.curved).toBe(false);
    },
  );

  it.each([1, 2, 3])('finds gentle falls where an aeroplane leaves a quarter of a metre between points, seed %i', async (seed) => {
    const { found } = await find(fallsToDrain(), { spacing: 0.25, noise: 0.02, seed });
    expect(found.segments).toHaveLength(4);
    for (const segment of found.segments) expect(Math.abs(pitchOf(segment) - Math.atan(0.015) * degrees)).toBeLessThan(0.3);
  });

  it('cuts no old roof that ponds into facets, as seen from an aeroplane', async () => {
    const points = samplePoints([{ plan: [3, 3, 33, 20], height: 5, isRoof: true }], { spacing: 0.25, noise: 0.02, ground: [0, 0, 36, 23] });
    const { positions } = points;
    for (let i = 0; i < positions.length; i += 3) {
      if (positions[i + 2]! > 4) positions[i + 2]! += 0.06 * Math.sin(0.9 * positions[i]!) * Math.sin(0.8 * positions[i + 1]! + 0.4 * positions[i]!);
    }
    expect((await findRoof(cloudOf(points))).segments).toHaveLength(1);
  });

  it('finds a dormer beside the slope it stands in', async () => {
    const { found } = await find(dormer(), { spacing: 0.06 });
    expect(found.segments).toHaveLength(3);
    const top = found.segments.find((segment) => pitchOf(segment) < 10)!;
    expect(Math.abs(pitchOf(top) - Math.atan(0.08) * degrees)).toBeLessThan(0.3);
  });

  it('takes chimneys and vans for no roof planes', async () => {
    const { found } = await find([...gable(), ...clutter()]);
    expectPlanes(found, gable(), 0.1);
  });

  it('works on a roof alone, and says that no ground was seen', async () => {
    const { found } = await find(gable(), { ground: null });
    expectPlanes(found, gable(), 0.1);
    expect(found.ground.seen).toBe(false);
  });

  it('finds a flat roof far larger than any window', async () => {
    const hall: Slab[] = [{ plan: [5, 5, 105, 65], height: 8, east: 0.02, isRoof: true }];
    const { found } = await find(hall, { spacing: 0.4, ground: [0, 0, 110, 70] });
    expectPlanes(found, hall, 0.05);
    expect(found.ground.seen).toBe(true);
  });

  it('keeps parallel planes on two heights apart', async () => {
    const steps: Slab[] = [
      { plan: [4, 4, 10, 14], height: 5, north: 0.05, isRoof: true },
      { plan: [10, 4, 16, 14], height: 5.35, north: 0.05, isRoof: true },
    ];
    const { found } = await find(steps);
    expectPlanes(found, steps, 0.1);
    expect(found.buildings).toHaveLength(2);
  });

  it('cuts one slope in two where an upstand stands between two houses', async () => {
    const slope = Math.tan(Math.PI / 6);
    const wall: Slab[] = [
      { plan: [9.83, 4.3, 10.13, 8], height: 4.4 + 0.3 * slope, north: slope },
      { plan: [9.83, 8, 10.13, 11.7], height: 4.4 + 4 * slope, north: -slope },
    ];
    const { found } = await find([...gable(), ...wall], { spacing: 0.05 });
    expect(found.segments).toHaveLength(4);
    for (const segment of found.segments) expect(Math.abs(pitchOf(segment) - 30)).toBeLessThan(0.1);
  });

  it('works on a thin airborne cloud', async () => {
    const slabs = gable(35);
    const { found } = await find(slabs, { spacing: 0.3, noise: 0.02 });
    expectPlanes(found, slabs, 0.5);
  });

  it('names a vault curved', async () => {
    const strips: Slab[] = Array.from({ length: 60 }, (_, i) => {
      const y = 4 + i * 0.2;
      const heightAt = (at: number): number => 4 + Math.sqrt(49 - (at - 10) ** 2) - Math.sqrt(49 - 36);
      return { plan: [4, y, 20, y + 0.2], height: heightAt(y), north: (heightAt(y + 0.2) - heightAt(y)) / 0.2 };
    });
    const { found } = await find(strips);
    expect(found.segments.length).toBeGreaterThan(0);
    expect(found.segments.filter((segment) => segment.curved).length).toBeGreaterThanOrEqual(found.segments.length - 1);
    expect(found.curvedSurfaces).toHaveLength(1);
    expect(found.curvedSurfaces[0]!.length).toBeGreaterThanOrEqual(found.segments.length - 1);
  });

  it('says how surely neighbours at a shallow angle are two planes, and nothing of steep ridges', async () => {
    const falls = (await find(fallsToDrain())).found;
    expect(falls.separations.length).toBeGreaterThanOrEqual(4);
    // 99.9 % of chi-squared with 3 degrees of freedom (table value).
    for (const { chiSquared, independentCount } of falls.separations) {
      expect(chiSquared).toBeGreaterThan(16.27);
      expect(independentCount).toBeGreaterThan(10);
    }
    expect((await find(gable())).found.separations).toHaveLength(0);
  });

  it('takes strays above a roof for no small planes', async () => {
    const roof = samplePoints(gable(), { spacing: 0.05 });
    const random = makeRandom(5);
    // A fiftieth of the roof's density within 4 cm of a slanting plane over one slope.
    const strays: number[] = [];
    for (let i = 0; i < 60; i++) {
      const [x, y] = [6 + 2 * random.next(), 5 + 2 * random.next()];
      strays.push(x, y, 8.5 + 0.4 * (x - 6) + 0.08 * (random.next() - 0.5));
    }
    const positions = Float64Array.from([...roof.positions, ...strays]);
    const found = await findRoof(cloudOf({ ...roof, pointCount: positions.length / 3, positions }));
    expectPlanes(found, gable(), 0.1);
  });

  it('finds a roof that returns an eighth of the points of its neighbours', async () => {
    const dark: Slab = { plan: [24, 4, 30, 12], height: 5, north: 0.3, isRoof: true };
    const thick = samplePoints(gable(), { spacing: 0.25, noise: 0.02 });
    const thin = samplePoints([dark], { spacing: 0.7, noise: 0.02, ground: null });
    const positions = Float64Array.from([...thick.positions, ...thin.positions]);
    const found = await findRoof(cloudOf({ ...thick, pointCount: positions.length / 3, positions }));
    expectPlanes(found, [...gable(), dark], 0.6);
  });

  it('labels nearly every point of the planes, none of the ground, and lists one array per cell', async () => {
    const { cloud, found } = await find(gable());
    let onRoof = 0;
    let labelled = 0;
    cloud.cells.forEach((cell, c) => {
      expect(found.labels[c]).toHaveLength(cell.pointCount);
      for (let i = 0; i < cell.pointCount; i++) {
        const isRoof = cell.positions[3 * i + 2]! > 3;
        if (!isRoof) expect(found.labels[c]![i]).toBe(0);
        onRoof += isRoof ? 1 : 0;
        labelled += found.labels[c]![i]! > 0 ? 1 : 0;
      }
    });
    expect(labelled / onRoof).toBeGreaterThan(0.99);
    for (const segment of found.segments) {
      const count = found.labels.reduce((sum, labels) => sum + labels.filter((label) => label === segment.label).length, 0);
      expect(segment.pointCount).toBe(count);
      expect(Math.abs(segment.residualRms / 0.006 / Math.cos(Math.PI / 6) - 1)).toBeLessThan(0.15);
      expect(Math.abs(segment.roughSlopeArea / (48 / Math.cos(Math.PI / 6)) - 1)).toBeLessThan(0.12);
    }
  });

  it('answers with nothing on bare ground and on a single point', async () => {
    const bare = await find([]);
    expect(bare.found.segments.filter((segment) => pitchOf(segment) > 1)).toHaveLength(0);
    const point = { pointCount: 1, positions: Float64Array.of(1, 2, 3), colours: null, intensity: null, classification: null };
    expect((await findRoof(cloudOf(point))).segments).toHaveLength(0);
  });

  it('reports progress up to 1 and stops when told to', async () => {
    const cloud = cloudOf(samplePoints(gable(), { spacing: 0.2 }));
    const seen: number[] = [];
    await findRoof(cloud, {}, undefined, (fraction) => seen.push(fraction));
    expect(seen.at(-1)).toBe(1);
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    await expect(findRoof(cloud, { shouldStop: () => true })).rejects.toThrow('Stopped');
  });
});
