import { describe, expect, it } from 'vitest';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { measureLeg } from '../../../../../src/find/measure/edges/parapet-leg.ts';
import type { RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { normalCumulative } from '../../../../../src/geometry/distributions.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';

const [NOISE, SPACING, LENGTH, HEIGHT, THICKNESS] = [0.008, 0.05, 6, 0.4, 0.3];

/** A level deck at 5 m with noise that is alike nowhere. */
const deck: FaceFit = {
  elevation: 5, slopeX: 0, slopeY: 0, centroid: [3, 2], covariance: Array.from({ length: 9 }, () => 0), noise: NOISE, pointCount: 4000, density: 1 / SPACING ** 2, notes: [],
  correlation: { distances: new Float64Array(0), covariance: new Float64Array(0), alone: NOISE ** 2, length: 0, inflation: 1 },
};
const raster = { origin: [-1, -2], step: 0.1, columns: 90, rows: 50 } as unknown as RoofRaster;

interface Wall {
  /** Points stand on the sides too, not on the top alone. */
  readonly sides: boolean;
  /** The top bends down over its rims by this. [m] */
  readonly rounding: number;
  /** Fall of the deck away from the wall, whose foot stays at 5 m. [-] */
  readonly fall?: number;
}

/** Points of a wall along the x axis, from y = 0 down to -THICKNESS: outward of a deck above the axis. */
function measure({ sides, rounding, fall = 0 }: Wall, seed: number): ReturnType<typeof measureLeg> {
  const random = seededRandom(seed);
  const byCell = new Map<number, number[][]>();
  const put = (x: number, y: number, z: number): void => {
    const [px, py, pz] = [x + NOISE * random.normal(), y + NOISE * random.normal(), z + NOISE * random.normal()];
    const cell = Math.floor((py + 2) / 0.1) * 90 + Math.floor((px + 1) / 0.1);
    if (!byCell.has(cell)) byCell.set(cell, []);
    byCell.get(cell)!.push([px, py, pz]);
  };
  for (let i = 0; i < (LENGTH * THICKNESS) / SPACING ** 2; i++) {
    const across = THICKNESS * random.uniform();
    const fromRim = Math.min(across, THICKNESS - across);
    put(LENGTH * random.uniform(), -across, 5 + HEIGHT - (fromRim < rounding ? 0.1 * (1 - fromRim / rounding) : 0));
  }
  for (let i = 0; sides && i < (2 * LENGTH * HEIGHT) / SPACING ** 2 / 3; i++) put(LENGTH * random.uniform(), random.uniform() < 0.5 ? 0 : -THICKNESS, 5 + HEIGHT * random.uniform());
  const points = { each: (k: number, visit: (x: number, y: number, z: number, label: number) => void) => byCell.get(k)?.forEach(([x, y, z]) => visit(x!, y!, z!, 0)) };
  return measureLeg({ from: [0, 0, 5], to: [LENGTH, 0, 5] }, { ...deck, elevation: 5 - 2 * fall, slopeY: -fall }, raster, points);
}

describe('a leg of a parapet', () => {
  const seeds = Array.from({ length: 40 }, (_, i) => i + 1);

  it('is as thick as its sides stand apart, where points show them, however round the rims (40 seeds)', () => {
    for (const rounding of [0, 0.02]) {
      const legs = seeds.map((seed) => measure({ sides: true, rounding }, seed));
      for (const { thickness, height } of legs) {
        expect(Math.abs(thickness - THICKNESS)).toBeLessThan(0.008);
        expect(Math.abs(height - HEIGHT)).toBeLessThan(0.01);
      }
      // The ± holds, and is worth having.
      const held = legs.filter(({ thickness, thicknessSigma }) => Math.abs(thickness - THICKNESS) <= 1.96 * thicknessSigma).length;
      expect(held).toBeGreaterThanOrEqual(36);
      expect(Math.max(...legs.map(({ thicknessSigma }) => thicknessSigma))).toBeLessThan(0.008);
    }
  });

  it('has a wider ± where only its top is seen, which holds though the rims are round', () => {
    const legs = seeds.map((seed) => measure({ sides: false, rounding: 0.02 }, seed));
    expect(legs.filter(({ thickness, thicknessSigma }) => Math.abs(thickness - THICKNESS) <= 1.96 * thicknessSigma).length).toBeGreaterThanOrEqual(36);
    expect(Math.min(...legs.map(({ thicknessSigma }) => thicknessSigma))).toBeGreaterThan(0.01);
  });

  it('is as high as its top stands above its foot, where the deck falls away from it', () => {
    const [level, falling] = [0, 0.05].map((fall) => seeds.reduce((sum, seed) => sum + measure({ sides: true, rounding: 0, fall }, seed).height / seeds.length, 0));
    expect(Math.abs(falling! - level!)).toBeLessThan(0.001);
  });

  it('has no size where nothing rises', () => {
    const none = { each: () => undefined };
    expect(measureLeg({ from: [0, 0, 5], to: [LENGTH, 0, 5] }, deck, raster, none)).toMatchObject({ height: 0, thickness: 0 });
  });

  it('is as much higher than its points as a blur of half a spacing lowers a top between two square rims (integrated step by step)', () => {
    const blur = SPACING / 2;
    // Across the bisector of the rim a fold -|x| blurs to -|x| - 2 (σ φ(x/σ) - |x| Q(x/σ)); a place on the top lies x cos 45° from it.
    const drop = (fromRim: number): number => {
      const t = fromRim / Math.SQRT2 / blur;
      return Math.SQRT1_2 * 2 * blur * (Math.exp((-t * t) / 2) / Math.sqrt(2 * Math.PI) - t * normalCumulative(-t));
    };
    const steps = 20000;
    let sum = 0;
    for (let i = 0; i < steps; i++) {
      const across = ((i + 0.5) / steps) * THICKNESS;
      sum += drop(across) + drop(THICKNESS - across);
    }
    const { rounding, thickness } = measure({ sides: true, rounding: 0 }, 1);
    expect(rounding).toBeCloseTo(((sum / steps) * THICKNESS) / thickness, 5);
  });
});
