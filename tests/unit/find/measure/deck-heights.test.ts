import { expect, it } from 'vitest';
import { longWaveSigma, type DeckHeights } from '../../../../src/find/measure/deck-heights.ts';
import { makeRandom } from '../../../fixtures/roof-points.ts';

/** A level deck of one face whose heights are independent from cell to cell. */
function noisyDeck(sigma: number, hole: (column: number, row: number) => boolean): DeckHeights {
  const [columns, rows] = [120, 90];
  const random = makeRandom(7);
  const smooth = Float64Array.from({ length: columns * rows }, (_, k) => {
    const height = sigma * random.normal();
    return hole(k % columns, Math.floor(k / columns)) ? Number.NaN : height;
  });
  return { origin: [0, 0], step: 0.1, columns, rows, heights: smooth, smooth, weights: new Float64Array(columns * rows).fill(1), face: new Uint16Array(columns * rows).fill(1), smoothing: 0.3 };
}

it.each([['whole', () => false], ['with a wide hole in its points', (x: number, y: number) => x > 30 && x < 70 && y > 20 && y < 60]] as const)(
  'waves of a deck %s are read from the cells that have a height', (_, hole) => {
    const sigma = longWaveSigma(noisyDeck(0.01, hole), () => true);
    expect(sigma).toBeGreaterThan(0.009);
    expect(sigma).toBeLessThan(0.011);
  });
