import { describe, expect, test } from 'vitest';
import { makeRandom } from '../../../../sample-data/generator/random.ts';
import { groundElevation } from '../../../../src/find/buildings/ground-elevation.ts';
import type { GroundModel } from '../../../../src/find/segmentation.ts';
import { isKnown, type MeasuredValue } from '../../../../src/units/measured.ts';

const CELLS = 60;
/** Half-metre cells, 30 by 30 m, the height of each cell's middle. */
const groundOf = (height: (x: number, y: number) => number, seen = true): GroundModel => ({
  origin: [0, 0], cellSize: 0.5, columns: CELLS, rows: CELLS, seen,
  elevation: Float32Array.from({ length: CELLS * CELLS }, (_, k) => height(0.5 * ((k % CELLS) + 0.5), 0.5 * (Math.floor(k / CELLS) + 0.5))),
});
const HOUSE = [[10, 10], [20, 10], [20, 20], [10, 20]] as const;
const known = (ground: GroundModel): MeasuredValue => {
  const reading = groundElevation(ground, HOUSE);
  if (!isKnown(reading)) throw new Error(reading.why);
  return reading;
};
const part = (reading: MeasuredValue, name: string): number => reading.parts!.find((one) => one.name === name)!.u95;

describe('ground around a building', () => {
  test('level ground without noise has its cover alone; the ground below the roof does not count', () => {
    const reading = known(groundOf((x, y) => (x > 10 && x < 20 && y > 10 && y < 20 ? 99 : 7)));
    expect(reading.value).toBeCloseTo(7, 6);
    expect([part(reading, 'ground relief'), part(reading, 'points')]).toEqual([0, 0]);
    expect(reading.u95).toBe(part(reading, 'ground cover'));
  });

  test('noise of single cells is no relief, and hardly moves the median', () => {
    const random = makeRandom(5);
    const reading = known(groundOf(() => 7 + 0.02 * random.normal()));
    expect(Math.abs(reading.value - 7)).toBeLessThan(0.003);
    expect(part(reading, 'ground relief')).toBeLessThan(0.02);
    // 20 by 20 m round 10 by 10: 1200 cells of 2 cm; a median scatters 1.2533 times as much as a mean.
    expect(part(reading, 'points')).toBeGreaterThan(0.8 * ((1.96 * 1.2533 * 0.02) / Math.sqrt(1200)));
    expect(part(reading, 'points')).toBeLessThan(1.2 * ((1.96 * 1.2533 * 0.02) / Math.sqrt(1200)));
  });

  test('a slope is relief, not noise: 5 % over 20 m', () => {
    const reading = known(groundOf((x) => 7 + 0.05 * x));
    expect(reading.value).toBeCloseTo(7.75, 1);
    // Uniform over 1 m but for the house: 16 and 84 % lie some 0.35 m off the middle.
    expect(part(reading, 'ground relief')).toBeGreaterThan(1.96 * 0.34);
    expect(part(reading, 'ground relief')).toBeLessThan(1.96 * 0.5);
    expect(part(reading, 'points')).toBeLessThan(1e-4);
  });

  test('a retaining wall that cuts off a quarter does not move it', () => {
    expect(known(groundOf((x) => (x < 8 ? 5 : 7))).value).toBeCloseTo(7, 6);
  });

  test('says why there is none', () => {
    expect(groundElevation(groundOf(() => 7, false), HOUSE)).toMatchObject({ value: null, why: 'no ground seen' });
    expect(groundElevation(groundOf(() => NaN), HOUSE)).toMatchObject({ value: null, why: 'no ground seen near the building' });
    expect(groundElevation(groundOf(() => 7), HOUSE.map(([x, y]) => [x + 100, y] as const))).toMatchObject({ value: null });
  });
});
