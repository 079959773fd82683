import { describe, expect, it } from 'vitest';
import type { DeckHeights } from '../../../../../src/find/measure/hollows/deck-heights.ts';
import { inwardHoles } from '../../../../../src/find/measure/hollows/inward-holes.ts';
import { makeRandom } from '../../../../fixtures/roof-points.ts';

const [SIDE, STEP, SPACING, SIGMA] = [80, 0.1, 0.04, 0.002];

/** A deck of 8 by 8 m with a hole of some radius in its points, its surface and noise as given. */
function deckWith(surface: (x: number, y: number) => number, holes: readonly (readonly [number, number, number])[], onDeck: (x: number, y: number) => boolean = () => true): DeckHeights {
  const random = makeRandom(11);
  const place = (k: number) => [((k % SIDE) + 0.5) * STEP, (Math.floor(k / SIDE) + 0.5) * STEP] as const;
  const isEmpty = Uint8Array.from({ length: SIDE * SIDE }, (_, k) => (holes.some(([x, y, r]) => Math.hypot(place(k)[0] - x, place(k)[1] - y) < r) ? 1 : 0));
  const face = Uint16Array.from(isEmpty, (_, k) => (onDeck(...place(k)) ? 1 : 2));
  const weights = Float64Array.from(isEmpty, (empty) => (empty ? 0 : 6));
  const heights = Float64Array.from(isEmpty, (empty, k) => (empty ? 0 : surface(...place(k)) + SIGMA * random.normal()));
  return { origin: [0, 0], step: STEP, columns: SIDE, rows: SIDE, heights, smooth: heights, weights, face, isEmpty, smoothing: 0.3 };
}

const found = (deck: DeckHeights) => inwardHoles(deck, (face) => face === 1, SPACING, SIGMA);
/** Four boards of 2 % that fall to a place. */
const boards = (u: number, v: number) => (x: number, y: number): number => 7 + 0.02 * Math.max(Math.abs(x - u), Math.abs(y - v));

describe('a hole in the points with the deck sloping to it', () => {
  it.each([[4, 4, 0.3], [2.6, 5.1, 0.5], [5.4, 3.2, 0.9]])('is found where it is: %d, %d, %d m wide either way', (x, y, r) => {
    const [hole, ...more] = found(deckWith(boards(x, y), [[x, y, r]]));
    expect(more).toEqual([]);
    expect(Math.hypot(hole!.at[0] - x, hole!.at[1] - y)).toBeLessThan(0.1);
    expect(hole!.radius).toBeGreaterThan(0.75 * r);
    expect(hole!.radius).toBeLessThan(1.25 * r);
    // What lies lowest around it: two hundredths of its radius above the bottom.
    expect(Math.abs(hole!.elevation - (7 + 0.02 * r * Math.SQRT1_2))).toBeLessThan(0.01);
  });

  it.each<[string, DeckHeights]>([
    ['on one slope', deckWith((x) => 7 + 0.02 * x, [[4, 4, 0.4]])],
    ['on a ridge', deckWith((x) => 7 - 0.02 * Math.abs(x - 4), [[4, 4, 0.4]])],
    ['on a level deck', deckWith(() => 7, [[4, 4, 0.4]])],
    ['that is no larger than chance leaves', deckWith(boards(4, 4), [[4, 4, 0.1]])],
    ['wider than any drain leaves', deckWith(boards(4, 4), [[4, 4, 1.4]])],
    ['that runs to the end of what was seen', deckWith(boards(0.2, 4), [[0.2, 4, 0.4]])],
    ['in the shadow of a wall', deckWith(boards(4, 4), [[4, 4, 0.4]], (x) => x < 4.2)],
  ])('is not taken from one %s', (_what, deck) => expect(found(deck)).toEqual([]));

  it('does not stand out where the waves of the noise are as steep', () => {
    const gentle = deckWith((x, y) => 7 + 0.01 * Math.hypot(x - 4, y - 4), [[4, 4, 0.4]]);
    expect(inwardHoles(gentle, () => true, SPACING, 0.002)).toHaveLength(1);
    expect(inwardHoles(gentle, () => true, SPACING, 0.02)).toEqual([]);
  });
});
