import { describe, expect, it } from 'vitest';
import { findLines } from '../../../../src/find/small/find-lines.ts';
import { makeRandom } from '../../../fixtures/roof-points.ts';

const COLUMNS = 160;
const ROWS = 140;
const LIMIT = 6;

function noise(seed: number): Float32Array {
  const random = makeRandom(seed);
  return Float32Array.from({ length: COLUMNS * ROWS }, () => random.normal());
}

/** Raises cells along a line two cells wide, in the raster's own sigmas. */
function raise(values: Float32Array, from: readonly [number, number], to: readonly [number, number], by: number): void {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  for (let y = 0; y < ROWS; y++) {
    for (let x = 0; x < COLUMNS; x++) {
      const [dx, dy] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
      const along = (x - from[0]) * dx + (y - from[1]) * dy;
      const beside = (y - from[1]) * dx - (x - from[0]) * dy;
      if (along >= 0 && along <= length && Math.abs(beside) <= 1) values[y * COLUMNS + x]! += by;
    }
  }
}

describe('faint lines in a raster', () => {
  it('finds none in noise, ten rasters of 22 400 cells', () => {
    for (let seed = 1; seed <= 10; seed++) expect(findLines(noise(seed), COLUMNS, ROWS, 20, LIMIT)).toEqual([]);
  });

  it.each([
    [[30, 40], [110, 90]], [[20, 100], [120, 100]], [[80, 20], [84, 110]],
  ] as const)('finds a line of two sigmas a cell from %j to %j, once, with its ends', (from, to) => {
    const values = noise(7);
    raise(values, from, to, 2);
    const lines = findLines(values, COLUMNS, ROWS, 20, LIMIT);
    expect(lines).toHaveLength(1);
    const [line] = lines;
    const away = (p: readonly [number, number], q: readonly [number, number]): number => Math.hypot(p[0] - q[0], p[1] - q[1]);
    const straight = away(line!.from, from) + away(line!.to, to);
    const turned = away(line!.from, to) + away(line!.to, from);
    expect(Math.min(straight, turned)).toBeLessThan(24);
    expect(line!.score).toBeGreaterThan(LIMIT);
  });

  it('tells a groove by its sign', () => {
    const values = noise(8);
    raise(values, [30, 40], [110, 90], -2);
    expect(findLines(values, COLUMNS, ROWS, 20, LIMIT)[0]!.score).toBeLessThan(-LIMIT);
  });

  it('takes no bend of the roof for a line', () => {
    const values = noise(9);
    for (let k = 0; k < values.length; k++) values[k]! += 0.05 * Math.abs((k % COLUMNS) - 80);
    expect(findLines(values, COLUMNS, ROWS, 20, LIMIT)).toEqual([]);
  });

  it('judges nothing where nothing is known', () => {
    expect(findLines(new Float32Array(COLUMNS * ROWS).fill(Number.NaN), COLUMNS, ROWS, 20, LIMIT)).toEqual([]);
  });
});
