import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';
import { pointLookup, tileKey, type Tile } from '../../../../../src/find/measure/raster/point-lookup.ts';
import { cutOutRaster, labelBoxes } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { sumTile } from '../../../../../src/find/measure/raster/tile-sums.ts';
import { cropTiles } from '../../../../../src/find/crop-tiles.ts';

const SIDE = 10;
const CELL = 4;
const grid = { origin: [100, 50] as const, cellSize: CELL, columns: 2 };
const planes = Float64Array.of(0, 0, 1, 0, 0, 0, 1, -3);

/** Two tiles side by side, points of label 1 near their common side (seed 9). */
function tilesOf(mayReorder = false): Map<number, Tile> {
  const random = seededRandom(9);
  const tiles = new Map<number, Tile>();
  for (const column of [0, 1]) {
    const labels = new Uint16Array(600);
    const positions = new Float32Array(1800);
    for (let i = 0; i < labels.length; i++) {
      const x = random.uniform() * CELL;
      positions.set([x, random.uniform() * CELL, 3], 3 * i);
      labels[i] = Math.abs(x - CELL * (1 - column)) < 1 ? 1 : 0;
    }
    const origin = [grid.origin[0] + column * CELL, grid.origin[1], 0] as const;
    const cell = { column, row: 0, origin, pointCount: labels.length, positions, colours: null, intensity: null, classification: null };
    tiles.set(tileKey(column, 0), { column, row: 0, cell, labels, ...sumTile({ positions, origin, labels, side: SIDE, step: CELL / SIDE, planes, mayReorder }) });
  }
  return tiles;
}

describe('points by raster cell', () => {
  const tiles = tilesOf();
  const raster = cutOutRaster(tiles, labelBoxes(tiles, SIDE, 2), grid, SIDE, Uint8Array.of(0, 1))!;
  const all = Array.from({ length: raster.columns * raster.rows }, (_, k) => k);

  it('gathers the points that single cells give, in their order, cells outside the tiles empty', () => {
    const lookup = pointLookup(raster, tiles);
    const { x, y, z, label, from } = lookup.gather(all);
    expect(from.at(-1)).toBeGreaterThan(500);
    for (const k of all) {
      const one: number[][] = [];
      lookup.each(k, (...point) => one.push(point));
      expect(Array.from({ length: from[k + 1]! - from[k]! }, (_, i) => [x[from[k]! + i], y[from[k]! + i], z[from[k]! + i], label[from[k]! + i]])).toEqual(one);
    }
  });

  it('gives points that lie in the cell', () => {
    const { x, y, from } = pointLookup(raster, tiles).gather(all);
    for (const k of all) {
      for (let i = from[k]!; i < from[k + 1]!; i++) {
        expect(Math.abs(x[i]! - raster.origin[0] - ((k % raster.columns) + 0.5) * raster.step)).toBeLessThanOrEqual(raster.step / 2 + 1e-5);
        expect(Math.abs(y[i]! - raster.origin[1] - (Math.floor(k / raster.columns) + 0.5) * raster.step)).toBeLessThanOrEqual(raster.step / 2 + 1e-5);
      }
    }
  });

  it('gives the same where the points themselves were put in order', () => {
    const reordered = tilesOf(true);
    expect([...reordered.values()].map(({ order }) => order)).toEqual([null, null]);
    expect(pointLookup(raster, reordered).gather(all)).toEqual(pointLookup(raster, tiles).gather(all));
    const seen = cropTiles(raster, reordered);
    expect(pointLookup(raster, new Map(seen.map((tile) => [tileKey(tile.column, tile.row), tile]))).gather(all)).toEqual(pointLookup(raster, tiles).gather(all));
    // Points are seen where they stand; places may move to another thread with the building.
    for (const tile of seen) {
      const whole = reordered.get(tileKey(tile.column, tile.row))!;
      expect(tile.cell.positions).toBe(whole.cell.positions);
      expect(tile.start.buffer).not.toBe(whole.start.buffer);
    }
  });

  it('gives the same from tiles cut down to the raster', () => {
    const cropped = new Map(cropTiles(raster, tiles).map((tile) => [tileKey(tile.column, tile.row), tile]));
    expect(pointLookup(raster, cropped).gather(all)).toEqual(pointLookup(raster, tiles).gather(all));
  });
});
