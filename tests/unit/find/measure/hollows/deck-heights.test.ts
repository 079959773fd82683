import { describe, expect, it } from 'vitest';
import { deckHeights, longWaveSigma, type DeckHeights } from '../../../../../src/find/measure/hollows/deck-heights.ts';
import type { PointLookup } from '../../../../../src/find/measure/raster/point-lookup.ts';
import type { Face, RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { makeRandom } from '../../../../fixtures/roof-points.ts';

/** A level deck of one face whose heights are independent from cell to cell. */
function noisyDeck(sigma: number, hole: (column: number, row: number) => boolean): DeckHeights {
  const [columns, rows] = [120, 90];
  const random = makeRandom(7);
  const smooth = Float64Array.from({ length: columns * rows }, (_, k) => {
    const height = sigma * random.normal();
    return hole(k % columns, Math.floor(k / columns)) ? Number.NaN : height;
  });
  return { origin: [0, 0], step: 0.1, columns, rows, heights: smooth, smooth, weights: new Float64Array(columns * rows).fill(1), face: new Uint16Array(columns * rows).fill(1), isEmpty: new Uint8Array(columns * rows), smoothing: 0.3 };
}

it.each([['whole', () => false], ['with a wide hole in its points', (x: number, y: number) => x > 30 && x < 70 && y > 20 && y < 60]] as const)(
  'waves of a deck %s are read from the cells that have a height', (_, hole) => {
    const sigma = longWaveSigma(noisyDeck(0.01, hole), () => true);
    expect(sigma).toBeGreaterThan(0.009);
    expect(sigma).toBeLessThan(0.011);
  });

describe('heights of a deck', () => {
  // Two boards that rise by 2 % from a crease at x = 1.05, which runs through the middle of a column of cells.
  const [columns, rows, step] = [20, 20, 0.1];
  const surface = (x: number): number => 5 + 0.02 * Math.abs(x - 1.05);
  const faces = [-0.02, 0.02].map((slope, i): Face => {
    const size = Math.hypot(slope, 1);
    return { number: i + 1, label: i + 7, plane: { normal: [-slope / size, 0, 1 / size], offset: (slope * 1.05 - 5) / size } };
  });
  const size = columns * rows;
  const mixed = (k: number): boolean => k % columns === 10;
  const raster: RoofRaster = {
    origin: [0, 0], step, columns, rows, firstColumn: 0, firstRow: 0, side: 20,
    label: Uint16Array.from({ length: size }, (_, k) => (k % columns < 11 ? 7 : 8)), count: new Uint16Array(size).fill(4),
    secondLabel: Uint16Array.from({ length: size }, (_, k) => (mixed(k) ? 8 : 0)), secondCount: Uint16Array.from({ length: size }, (_, k) => (mixed(k) ? 4 : 0)),
    sum: new Float32Array(size), squares: new Float32Array(size), looseCount: new Uint16Array(size), looseMean: new Float32Array(size), looseLow: new Float32Array(size), looseHigh: new Float32Array(size),
    face: Uint16Array.from({ length: size }, (_, k) => (k % columns < 11 ? 1 : 2)), foreign: new Uint8Array(size), filled: new Uint8Array(size),
  };
  /** Four points of each board in a cell of the crease, one that stands on the roof, and one of another roof. */
  const points: PointLookup = {
    each(k, visit) {
      if (!mixed(k)) throw new Error('Sums are enough where one board is seen.');
      const y = (Math.floor(k / columns) + 0.5) * step;
      for (const [x, label] of [[1.01, 7], [1.02, 7], [1.03, 7], [1.04, 7], [1.06, 8], [1.07, 8], [1.08, 8], [1.09, 8]] as const) visit(x, y, surface(x), label);
      visit(1.05, y, 5.4, 0);
      visit(1.05, y, 5.4, 9);
    },
  };

  it('count the points of both boards where they meet, and nothing that stands there', () => {
    const deck = deckHeights(raster, faces, [true, true], points);
    for (let k = 0; k < size; k++) {
      const x = ((k % columns) + 0.5) * step;
      expect(deck.weights[k]).toBe(mixed(k) ? 8 : 4);
      expect(Math.abs(deck.heights[k]! - surface(x))).toBeLessThan(0.001);
    }
  });

  it('leave out a board that is no part of the deck', () => {
    const deck = deckHeights(raster, faces, [true, false], points);
    expect([10, 11].map((k) => deck.weights[k])).toEqual([4, 0]);
  });
});
