import { expect, it } from 'vitest';
import { binIntoCells } from '../../../src/cloud/bin-into-cells.ts';
import type { CellGrid } from '../../../src/cloud/cloud.ts';
import { finishCell } from '../../../src/cloud/finish-cell.ts';
import { makeRandom } from '../../fixtures/roof-points.ts';

const grid: CellGrid = { origin: [0, 0], cellSize: 16, columns: 1, rows: 1 };

/** Points with many ties: coordinates in steps of 1 cm, some points there twice with other attributes. */
function someLocalPoints(count: number, seed: number) {
  const { next } = makeRandom(seed);
  const rows = Array.from({ length: count }, () => [
    Math.round(next() * 1600) / 100, Math.round(next() * 1600) / 100, Math.round(next() * 300) / 100,
    Math.floor(next() * 256), Math.floor(next() * 3), Math.floor(next() * 20),
  ]);
  for (let i = 0; i < count / 4; i++) rows[4 * i] = [...rows[4 * i + 1]!.slice(0, 3), ...rows[4 * i]!.slice(3)];
  return rows;
}

const asPoints = (rows: number[][]) => ({
  pointCount: rows.length,
  positions: Float64Array.from(rows.flatMap((row) => row.slice(0, 3))),
  colours: Uint8Array.from(rows.flatMap((row) => [row[3]!, 7, 9])),
  intensity: Uint16Array.from(rows, (row) => row[5]!),
  classification: Uint8Array.from(rows, (row) => row[4]!),
});

it('gives the same bytes for any order and any split', () => {
  const rows = someLocalPoints(3000, 5);
  const whole = finishCell(grid, binIntoCells(asPoints(rows), grid));
  const { next } = makeRandom(9);
  const shuffled = rows.map((row) => ({ row, key: next() })).sort((a, b) => a.key - b.key).map(({ row }) => row);
  const parts = [shuffled.slice(0, 17), shuffled.slice(17, 1800), shuffled.slice(1800)];
  const joined = finishCell(grid, parts.flatMap((part) => binIntoCells(asPoints(part), grid)));
  expect(joined.positions).toEqual(whole.positions);
  expect(joined.colours).toEqual(whole.colours);
  expect(joined.intensity).toEqual(whole.intensity);
  expect(joined.classification).toEqual(whole.classification);
});

it('gives the same bytes in memory that threads share', () => {
  const fragments = binIntoCells(asPoints(someLocalPoints(300, 6)), grid);
  const [own, shared] = [finishCell(grid, fragments), finishCell(grid, fragments, true)];
  expect(own.positions.buffer).toBeInstanceOf(ArrayBuffer);
  expect(shared.positions.buffer).toBeInstanceOf(SharedArrayBuffer);
  expect([...shared.positions]).toEqual([...own.positions]);
});

it('orders positions alike with and without attributes', () => {
  const rows = someLocalPoints(800, 8);
  const bare = { ...asPoints(rows), colours: null, intensity: null, classification: null };
  expect(finishCell(grid, binIntoCells(bare, grid)).positions).toEqual(finishCell(grid, binIntoCells(asPoints(rows), grid)).positions);
});

it('keeps every point with its own attributes', () => {
  const rows = someLocalPoints(500, 3);
  const cell = finishCell(grid, binIntoCells(asPoints(rows), grid));
  const key = (x: number, y: number, z: number, c: number, k: number, i: number) => [Math.fround(x), Math.fround(y), Math.fround(z), c, k, i].join(' ');
  const before = rows.map(([x, y, z, c, k, i]) => key(x!, y!, z!, c!, k!, i!)).sort();
  const after = Array.from({ length: 500 }, (_, p) =>
    key(cell.positions[3 * p]!, cell.positions[3 * p + 1]!, cell.positions[3 * p + 2]!, cell.colours![3 * p]!, cell.classification![p]!, cell.intensity![p]!),
  ).sort();
  expect(after).toEqual(before);
});

it('makes every prefix an even sample of the cell', () => {
  const { next } = makeRandom(2);
  const rows = Array.from({ length: 40_000 }, () => [16 * next(), 16 * next(), next(), 0, 0, 0]);
  const { positions } = finishCell(grid, binIntoCells(asPoints(rows), grid));
  for (const count of [64, 500, 3000, 20_000]) {
    const perSquare = new Float64Array(16);
    for (let i = 0; i < count; i++) perSquare[4 * Math.floor(positions[3 * i + 1]! / 4) + Math.floor(positions[3 * i]! / 4)]!++;
    // A random sample of 64 over 16 squares would leave 4 ± 2 in each; an even one stays within a few per cent or one.
    for (const square of perSquare) expect(Math.abs(square - count / 16)).toBeLessThan(1.5 + 0.06 * (count / 16));
  }
});

it('survives a thousand points on one spot', () => {
  const rows = Array.from({ length: 1000 }, (_, i) => [1, 1, 1, 0, 0, i % 7]);
  expect(finishCell(grid, binIntoCells(asPoints(rows), grid)).pointCount).toBe(1000);
});

it('drops an attribute that one fragment lacks, and refuses fragments of two cells or none', () => {
  const [first] = binIntoCells(asPoints(someLocalPoints(10, 1)), grid);
  const [second] = binIntoCells({ ...asPoints(someLocalPoints(10, 2)), colours: null }, grid);
  expect(finishCell(grid, [first!, second!]).colours).toBeNull();
  expect(() => finishCell(grid, [])).toThrow(RangeError);
  expect(() => finishCell(grid, [first!, { ...second!, column: 1 }])).toThrow(RangeError);
});
