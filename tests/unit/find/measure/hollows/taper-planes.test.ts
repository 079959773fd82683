import { describe, expect, it } from 'vitest';
import { longWaveSigma, type DeckHeights } from '../../../../../src/find/measure/hollows/deck-heights.ts';
import { taperBottoms, type TaperBottom, type TaperLine } from '../../../../../src/find/measure/hollows/taper-planes.ts';
import { makeRandom } from '../../../../fixtures/roof-points.ts';

const SIDE = 80;
const STEP = 0.1;

/** Four boards that fall to a drain; `smooth` is the surface itself, `heights` carries noise. */
function bay(drain: readonly [number, number], noise: number, seed: number): DeckHeights {
  const random = makeRandom(seed);
  const smooth = new Float64Array(SIDE * SIDE);
  const size = SIDE * STEP;
  for (let k = 0; k < smooth.length; k++) {
    const [x, y] = [((k % SIDE) + 0.5) * STEP, (Math.floor(k / SIDE) + 0.5) * STEP];
    // Each board runs from one side of the bay, 10 cm up, to the drain.
    const share = Math.max((drain[0] - x) / drain[0], (x - drain[0]) / (size - drain[0]), (drain[1] - y) / drain[1], (y - drain[1]) / (size - drain[1]));
    smooth[k] = 5 + 0.1 * share;
  }
  return {
    origin: [0, 0], step: STEP, columns: SIDE, rows: SIDE, smooth, heights: smooth.map((h) => h + noise * random.normal()),
    weights: new Float64Array(SIDE * SIDE).fill(4), face: new Uint16Array(SIDE * SIDE).fill(1), isEmpty: new Uint8Array(SIDE * SIDE), smoothing: 0.3,
  };
}

function bottomOf(cells: readonly number[], deck: DeckHeights): TaperBottom | null {
  const [found] = taperBottoms([cells], deck);
  return found?.kind === 'point' ? found : null;
}

const inner = Array.from({ length: SIDE * SIDE }, (_, k) => k).filter((k) => k % SIDE > 5 && k % SIDE < SIDE - 6 && k > 6 * SIDE && k < SIDE * (SIDE - 6));

describe('bottom of a hollow of boards', () => {
  it.each([[[4, 4]], [[3.2, 4.7]], [[5, 3]]] as const)('finds a drain at %j in the heights as they are', (drain) => {
    const found = bottomOf(inner, bay(drain, 0, 1))!;
    expect(Math.hypot(found.at[0] - drain[0], found.at[1] - drain[1])).toBeLessThan(0.03);
    expect(found.elevation).toBeCloseTo(5, 3);
  });

  it('its stated scatter is the true one, 15 seeds', () => {
    const drain = [3.4, 4.4] as const;
    let [squares, stated, count] = [0, 0, 0];
    for (let seed = 1; seed <= 15; seed++) {
      const found = bottomOf(inner, bay(drain, 0.02, seed))!;
      squares += ((found.at[0] - drain[0]) ** 2 + (found.at[1] - drain[1]) ** 2) / 2;
      stated += found.sigma ** 2;
      count++;
    }
    expect(Math.sqrt(stated / count) / Math.sqrt(squares / count)).toBeGreaterThan(0.6);
    expect(Math.sqrt(stated / count) / Math.sqrt(squares / count)).toBeLessThan(1.7);
  });

  it('a level deck has none', () => {
    const level = bay([4, 4], 0, 1);
    const flat = { ...level, heights: level.heights.map(() => 5), smooth: level.smooth.map(() => 5) };
    expect(taperBottoms([inner], flat)).toEqual([null]);
  });

  it('two boards that meet in a level channel give a line and no point', () => {
    const random = makeRandom(4);
    const level = bay([4, 4], 0, 1);
    const smooth = level.smooth.map((_, k) => 5 + 0.02 * Math.abs((Math.floor(k / SIDE) + 0.5) * STEP - 3.6));
    const [line] = taperBottoms([inner], { ...level, smooth, heights: smooth.map((h) => h + 0.01 * random.normal()) });
    expect(line?.kind).toBe('line');
    const { from, to } = line as TaperLine;
    for (const [, y, z] of [from, to]) {
      expect(Math.abs(y - 3.6)).toBeLessThan(0.15);
      expect(Math.abs(z - 5)).toBeLessThan(0.005);
    }
    expect(Math.abs(to[0] - from[0])).toBeGreaterThan(6);
  });

  it('a channel that falls along its length gives no level line', () => {
    const level = bay([4, 4], 0, 1);
    const smooth = level.smooth.map((_, k) => 5 + 0.02 * Math.abs((Math.floor(k / SIDE) + 0.5) * STEP - 3.6) + 0.008 * (k % SIDE) * STEP);
    const random = makeRandom(5);
    expect(taperBottoms([inner], { ...level, smooth, heights: smooth.map((h) => h + 0.005 * random.normal()) })).toEqual([null]);
  });

  it('falls are no waves', () => {
    const deck = bay([4, 4], 0, 1);
    const board = (k: number): number => {
      const [x, y] = [(k % SIDE) - 39.5, Math.floor(k / SIDE) - 39.5];
      return Math.abs(x) > Math.abs(y) ? (x > 0 ? 1 : 2) : y > 0 ? 3 : 4;
    };
    expect(longWaveSigma({ ...deck, face: deck.face.map((_, k) => board(k)) }, () => true)!).toBeLessThan(1e-6);
  });
});
