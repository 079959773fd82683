import { describe, expect, test } from 'vitest';
import { binIntoCells } from '../../../src/cloud/bin-into-cells.ts';
import { buildCloud } from '../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../src/cloud/plan-grid.ts';
import { thinCloud } from '../../../src/cloud/thin-cloud.ts';
import { ReadingPreview } from '../../../src/survey/reading-preview.ts';

/** Rows of points as a scanner leaves them, 5 cm apart, each coloured by its own place. */
function part(rows: number, firstRow: number) {
  const perRow = 400;
  const positions = new Float64Array(3 * perRow * rows);
  const colours = new Uint8Array(3 * perRow * rows);
  for (let i = 0; i < perRow * rows; i++) {
    const [x, y] = [(i % perRow) * 0.05, (firstRow + Math.floor(i / perRow)) * 0.05];
    positions.set([x, y, 3 + x / 10], 3 * i);
    colours.set([Math.floor(x * 10), Math.floor(y), 7], 3 * i);
  }
  return { pointCount: perRow * rows, positions, colours, intensity: null, classification: null };
}

const bounds = { min: [0, 0, 3], max: [20, 20, 5] } as const;

describe('ReadingPreview', () => {
  test('shows the first part at once, and points that are really there', () => {
    const parts = [part(100, 0), part(100, 100), part(100, 200), part(100, 300)];
    const grid = planGrid(bounds, 160_000);
    const preview = new ReadingPreview(grid, bounds, 4_000_000);
    const shown = preview.add(binIntoCells(parts[0]!, grid))!;
    expect(shown.bounds).toBe(bounds);
    expect(shown.pointCount).toBe(4000);
    for (const { origin, positions, colours, pointCount } of shown.cells) {
      for (let i = 0; i < pointCount; i++) {
        const [x, y, z] = [0, 1, 2].map((axis) => origin[axis]! + positions[3 * i + axis]!) as [number, number, number];
        expect(z).toBeCloseTo(3 + x / 10, 4);
        expect(Math.abs(colours![3 * i]! - x * 10)).toBeLessThan(1.001);
        expect(Math.abs(colours![3 * i + 1]! - y)).toBeLessThan(1.001);
      }
    }
    expect(preview.add([])).toBeNull();
    expect(preview.add(binIntoCells(parts[1]!, grid))!.pointCount).toBe(8000);
  });

  test('the first few points of a cell are spread over it', () => {
    const grid = planGrid(bounds, 160_000);
    const [cell] = new ReadingPreview(grid, bounds, 160_000).add(binIntoCells(part(400, 0), grid))!.cells;
    const quarters = new Set<string>();
    for (let i = 0; i < 40; i++) quarters.add(`${Math.floor((2 * cell!.positions[3 * i]!) / grid.cellSize)} ${Math.floor((2 * cell!.positions[3 * i + 1]!) / grid.cellSize)}`);
    expect(quarters.size).toBe(4);
  });
});

describe('thinCloud', () => {
  test('the same share of every cell, in arrays of its own', () => {
    const grid = planGrid(bounds, 160_000 * 8);
    const cloud = buildCloud([part(400, 0)], grid);
    const thin = thinCloud(cloud, 16_000);
    expect(thin.cells).toHaveLength(cloud.cells.length);
    expect(thin.pointCount).toBeGreaterThan(15_900);
    expect(thin.pointCount).toBeLessThanOrEqual(16_000);
    thin.cells.forEach((cell, i) => {
      expect(cell.positions).toEqual(cloud.cells[i]!.positions.subarray(0, 3 * cell.pointCount));
      expect(cell.positions.buffer).not.toBe(cloud.cells[i]!.positions.buffer);
      expect(cell.positions.length).toBe(cell.positions.buffer.byteLength / 4);
    });
    expect(thinCloud(cloud, 1e9).pointCount).toBe(cloud.pointCount);
  });
});
