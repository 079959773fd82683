import { describe, expect, it } from 'vitest';
import { lagProducts } from '../../../../../src/find/measure/faces/lag-products.ts';
import { LAGS } from '../../../../../src/find/measure/faces/residual-correlation.ts';
import type { RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';

const [COLUMNS, ROWS] = [31, 27];

describe('products of residuals a lag apart', () => {
  const random = seededRandom(3);
  const residual = Float32Array.from({ length: COLUMNS * ROWS }, () => random.normal());
  const count = Uint16Array.from({ length: COLUMNS * ROWS }, () => 1 + Math.floor(5 * random.uniform()));
  const raster = { columns: COLUMNS, rows: ROWS, count } as unknown as RoofRaster;
  const cells = Array.from(count.keys()).filter((k) => k % COLUMNS > 2 && k > 4 * COLUMNS && random.uniform() < 0.7);

  it('are those of all pairs of the face in four directions', () => {
    const inFace = new Set(cells);
    const { products, pairs } = lagProducts(raster, cells, residual);
    LAGS.forEach((lag, j) => {
      const slant = Math.round(lag / Math.SQRT2);
      const steps = [[lag, 0], [0, lag], ...(slant === 1 ? [] : [[slant, slant], [slant, -slant]])] as [number, number][];
      let [product, pair] = [0, 0];
      for (const [dx, dy] of steps) {
        for (const k of cells) {
          const n = k + dy * COLUMNS + dx;
          if ((k % COLUMNS) + dx >= COLUMNS || !inFace.has(n)) continue;
          product += residual[k]! * residual[n]!;
          pair += count[k]! * count[n]!;
        }
      }
      expect(pairs[j]).toBe(pair);
      expect(products[j]).toBeCloseTo(product, 9);
    });
    expect(pairs[0]).toBeGreaterThan(0);
    expect(pairs[8]).toBeGreaterThan(0);
    expect(pairs.at(-1)).toBe(0);
  });

  it('are nothing for a face without cells', () => {
    const { products, pairs } = lagProducts(raster, [], residual);
    expect([...products, ...pairs].every((value) => value === 0)).toBe(true);
  });
});
