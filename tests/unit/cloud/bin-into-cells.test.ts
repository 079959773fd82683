import { expect, it } from 'vitest';
import { binIntoCells } from '../../../src/cloud/bin-into-cells.ts';
import type { CellGrid } from '../../../src/cloud/cloud.ts';

const grid: CellGrid = { origin: [-10, 20], cellSize: 10, columns: 3, rows: 2 };
const batch = (...points: number[][]) => ({
  pointCount: points.length,
  positions: Float64Array.from(points.flat()),
  colours: Uint8Array.from(points.flatMap((_, i) => [i, i + 1, i + 2])),
  intensity: Uint16Array.from(points, (_, i) => 100 * i),
  classification: Uint8Array.from(points, (_, i) => i),
});

it('counts positions from the corner of the cell and elevations from the frame, with attributes alongside', () => {
  const fragments = binIntoCells(batch([-9, 21, 3], [15, 39, 4], [1.5, 22, 812.25]), grid);
  expect(fragments.map((f) => [f.column, f.row, f.pointCount])).toEqual([[0, 0, 1], [1, 0, 1], [2, 1, 1]]);
  expect([...fragments[1]!.positions]).toEqual([1.5, 2, 812.25]);
  expect([...fragments[1]!.colours!]).toEqual([2, 3, 4]);
  expect([...fragments[1]!.intensity!]).toEqual([200]);
  expect([...fragments[1]!.classification!]).toEqual([2]);
});

it('loses no digits that single precision of a cell can hold', () => {
  const far: CellGrid = { origin: [4_000_000, 500_000], cellSize: 32, columns: 1, rows: 1 };
  const [fragment] = binIntoCells({ ...batch([4_000_012.3456, 500_031.0001, 9]) }, far);
  expect(fragment!.positions[0]).toBeCloseTo(12.3456, 5);
  expect(fragment!.positions[1]).toBeCloseTo(31.0001, 5);
});

it('gives points beyond the grid to the rim, and puts no point of the upper bound outside', () => {
  const fragments = binIntoCells(batch([-50, 20, 0], [20, 40, 0]), grid);
  expect(fragments.map((f) => [f.column, f.row])).toEqual([[0, 0], [2, 1]]);
});

it('refuses coordinates that are not finite, whichever axis', () => {
  for (const bad of [[Number.NaN, 21, 3], [0, Number.NaN, 3], [0, 21, Infinity]]) {
    expect(() => binIntoCells(batch([0, 21, 0], bad), grid)).toThrow(/Point 1/);
  }
});
