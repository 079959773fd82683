import { describe, expect, it } from 'vitest';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import type { RaisedPatch } from '../../../../../src/find/measure/obstructions/find-obstructions.ts';
import type { ObstructionContext } from '../../../../../src/find/measure/obstructions/patch-points.ts';
import { roofBeneath, type TopSample } from '../../../../../src/find/measure/obstructions/roof-beneath.ts';
import { meanNearMiddle } from '../../../../../src/geometry/order-statistic.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';

const [STEP, COLUMNS] = [0.1, 40];

/** Waves of one length with autocorrelation exp(-(d / length)²): random numbers on a grid, blurred. */
function waves(seed: number, sigma: number, length: number): (x: number, y: number) => number {
  const random = seededRandom(seed);
  // Over the box and the rings about it.
  const [from, side] = [0.9 - 2 * length, 2.2 + 4 * length];
  const sources = Array.from({ length: Math.round((side / length) ** 2) + 100 }, () => [from + side * random.uniform(), from + side * random.uniform(), random.normal()] as const);
  // A sum of bumps exp(-2 d² / length²), so many to the area, has that autocorrelation and this variance.
  const variance = (sources.length / side ** 2) * ((Math.PI * length * length) / 4);
  return (x, y) => (sigma / Math.sqrt(variance)) * sources.reduce((sum, [sx, sy, w]) => sum + w * Math.exp((-2 * ((x - sx) ** 2 + (y - sy) ** 2)) / length ** 2), 0);
}

/** A level roof at 0 m with a box of 0.6 m on it, in the middle of 4 m; four points a cell. */
function scene(wave: (x: number, y: number) => number): { context: ObstructionContext; patch: RaisedPatch; topNoise: number } {
  const cells = Array.from({ length: COLUMNS * COLUMNS }, (_, k) => k);
  const onBox = (k: number): boolean => [k % COLUMNS, Math.floor(k / COLUMNS)].every((i) => i >= 17 && i < 23);
  const placesIn = (k: number): [number, number][] => [0.25, 0.75].flatMap((u) => [0.25, 0.75].map((v): [number, number] => [STEP * ((k % COLUMNS) + u), STEP * (Math.floor(k / COLUMNS) + v)]));
  const gather = (wanted: readonly number[]) => {
    const places = wanted.flatMap(placesIn);
    return {
      x: Float64Array.from(places, (p) => p[0]), y: Float64Array.from(places, (p) => p[1]), z: Float64Array.from(places, (p) => wave(...p)),
      label: new Uint16Array(places.length).fill(1), from: Uint32Array.from({ length: wanted.length + 1 }, (_, i) => 4 * i),
    };
  };
  const top = cells.filter(onBox);
  const topPlaces = top.flatMap(placesIn);
  const raster = { origin: [0, 0], step: STEP, columns: COLUMNS, rows: COLUMNS, face: new Uint16Array(cells.length).fill(1) };
  const context = { raster, faces: [{ number: 1, label: 1 }], fits: [], points: { gather, each: () => undefined }, groundSampleDistance: null, taken: Uint8Array.from(cells, (k) => (onBox(k) ? 1 : 0)) };
  return {
    context: context as unknown as ObstructionContext, patch: { cells: top, face: 1, height: 1, score: 9, beyondRim: 0 },
    topNoise: topPlaces.reduce((sum, p) => sum + wave(...p), 0) / topPlaces.length,
  };
}

const distances = Float64Array.from({ length: 20 }, (_, i) => STEP * (i + 1));
const fitOf = (covarianceAt: (d: number) => number, alone: number): FaceFit => ({
  elevation: 0, slopeX: 0, slopeY: 0, centroid: [2, 2], covariance: new Array<number>(9).fill(0), noise: 0.02, pointCount: 5000, density: 400, notes: [],
  correlation: { distances, covariance: distances.map(covarianceAt), alone, length: 0.3, inflation: 1 },
});
const sample: TopSample = { area: { centre: [2, 2], turn: 0, size: [0.6, 0.6], round: false, sigma: 0, common: 0 }, points: 144, roughness: 1, follows: false };

describe('the roof beneath a thing', () => {
  it.each([
    ['long waves: the ring tells of them, and the height errs by less than the top', 0.006, 1.2, 0.7],
    ['short waves: the ring tells nothing, the plane stands for the roof', 0.018, 0.2, 1.02],
  ])('%s (40 seeds)', (_, sigma, length, most) => {
    const fit = fitOf((d) => sigma ** 2 * Math.exp(-((d / length) ** 2)), 0);
    let [errors, tops, stated, rings] = [0, 0, 0, 0];
    for (let seed = 1; seed <= 40; seed++) {
      const { context, patch, topNoise } = scene(waves(seed, sigma, length));
      const beneath = roofBeneath(patch, sample, fit, context);
      errors += (topNoise - beneath.offset) ** 2;
      tops += topNoise ** 2;
      stated += beneath.sigma ** 2;
      rings += beneath.points;
    }
    expect(rings).toBeGreaterThan(40 * 8);
    expect(Math.sqrt(errors / tops)).toBeLessThan(most);
    // As sure as it says.
    expect(Math.sqrt(errors / stated)).toBeGreaterThan(0.75);
    expect(Math.sqrt(errors / stated)).toBeLessThan(1.3);
  });

  it('points on their own know nothing of each other', () => {
    const { context, patch } = scene(() => 0.004);
    const beneath = roofBeneath(patch, sample, fitOf(() => 0, 0.02 ** 2), context);
    expect(beneath.offset).toBeCloseTo(0, 9);
    expect(beneath.sigma).toBeCloseTo(0.02 / 12, 6);
  });
});

describe('mean near the middle', () => {
  it('leaves strays out', () => {
    expect(meanNearMiddle([1, 1.1, 0.9, 1.2, 0.8, 30], 0.5)).toBeCloseTo(1, 9);
    expect(meanNearMiddle([], 1)).toBe(0);
  });
});
