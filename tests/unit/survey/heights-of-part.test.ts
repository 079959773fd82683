import { expect, it } from 'vitest';
import { moveInPlace } from '../../../src/survey/correct/correct-cloud.ts';
import { heightsOf, heightsOfCell } from '../../../src/survey/heights-of-part.ts';

const cells = { origin: [10, 20] as const, cellSize: 0.5, columns: 4, rows: 3 };

it('points are told by the cell they fall in, those outside are left out', () => {
  const found = heightsOf(Float64Array.of(10.1, 20.1, 3, 10.2, 20.2, 5, 11.9, 21.4, 7, 9.9, 20, 99, 12.1, 20, 99), cells);
  expect([...found.cells]).toEqual([0, 0, 2 * 4 + 3]);
  expect([...found.heights]).toEqual([3, 5, 7]);
});

it('points of a cell count from its origin', () => {
  expect(heightsOfCell([10, 20, 4], Float32Array.of(0.25, 0.75, 1), cells)).toEqual({ cells: Uint32Array.of(4), heights: Float32Array.of(5) });
});

it('follows a record that was stretched by a tape check', () => {
  const positions = Float64Array.of(12, 24, 10);
  moveInPlace(positions, [{ about: [10, 20, 0], horizontal: 1.5, vertical: 1.1, u95: 0, isVertical: false }]);
  expect([...positions]).toEqual([13, 26, expect.closeTo(11, 12)]);
});
