import { describe, expect, it } from 'vitest';
import { ROOF, TOP } from '../../../../../src/find/measure/obstructions/count-side.ts';
import { refineFootprint, type MarkedPoints, type Scatter } from '../../../../../src/find/measure/obstructions/footprint-sides.ts';
import type { Footprint } from '../../../../../src/find/measure/obstructions/top-shape.ts';
import { makeRandom } from '../../../../fixtures/roof-points.ts';

const SPACING = 0.05;

const NOISE = 0.02;
const scatter: Scatter = { spacing: SPACING, noise: NOISE, correlation: { distances: new Float64Array(0), covariance: new Float64Array(0), alone: NOISE ** 2, length: 0, inflation: 1 } };

/** Evenly spread points of a thing too low for sides, up inside the given shape; some tell the wrong side. */
function points(seed: number, isInside: (x: number, y: number) => boolean, wrong = 0.02): MarkedPoints {
  const random = makeRandom(seed);
  const count = Math.round(9 / SPACING / SPACING);
  const x = Float64Array.from({ length: count }, () => 3 * random.next() - 1.5);
  const y = Float64Array.from({ length: count }, () => 3 * random.next() - 1.5);
  const kind = Uint8Array.from(x, (_, i) => (isInside(x[i]!, y[i]!) !== random.next() < wrong ? TOP : ROOF));
  return { x, y, kind, below: new Float64Array(count), full: new Float64Array(count).fill(0.1), own: kind.map((k) => (k === ROOF ? 1 : 0)), isThin: false, takenForTop: 0.06, takenForRoof: 0.06 };
}

describe('sides of a footprint', () => {
  it('move to where top gives way to roof, without bias, and are as sure as they say: 60 boxes', () => {
    let [sum, squares, stated] = [0, 0, 0];
    for (let seed = 1; seed <= 60; seed++) {
      const rough: Footprint = { centre: [0.02, -0.01], turn: 0, size: [0.95, 0.6], round: false, sigma: 0.05, common: 0 };
      const { size, sigma, centre } = refineFootprint(rough, points(seed, (x, y) => Math.abs(x) < 0.45 && Math.abs(y) < 0.3), scatter);
      sum += size[0] - 0.9;
      squares += (size[0] - 0.9) ** 2;
      stated += sigma ** 2;
      expect(Math.hypot(...centre)).toBeLessThan(0.03);
    }
    expect(Math.abs(sum / 60)).toBeLessThan(0.1 * SPACING);
    expect(Math.sqrt(squares / stated)).toBeLessThan(1.3);
    expect(Math.sqrt(squares / stated)).toBeGreaterThan(0.4);
  });

  it('a disc keeps its middle and gets its diameter', () => {
    const rough: Footprint = { centre: [0, 0], turn: 0, size: [0.6, 0.6], round: true, sigma: 0.05, common: 0 };
    const { size } = refineFootprint(rough, points(3, (x, y) => Math.hypot(x, y) < 0.26), scatter);
    expect(Math.abs(size[0] - 0.52)).toBeLessThan(0.02);
  });

  it('a rough footprint that shows no border keeps its sides, less sure of them', () => {
    const rough: Footprint = { centre: [0, 0], turn: 0, size: [0.8, 0.6], round: false, sigma: 0.01, common: 0 };
    const kept = refineFootprint(rough, points(4, () => false, 0.4), scatter);
    expect(kept.size[0]).toBeCloseTo(0.8, 6);
    expect(kept.sigma).toBeGreaterThan(0.03);
  });

  it('glass, of which few points show, ends where the roof does', () => {
    const rough: Footprint = { centre: [0.05, 0], turn: 0, size: [0.6, 0.4], round: true, sigma: 0.05, common: 0 };
    const marked = points(5, (x, y) => Math.abs(x) < 0.45 && Math.abs(y) < 0.3, 0);
    const random = makeRandom(6);
    const glass = { ...marked, kind: marked.kind.map((k) => (k === TOP && random.next() < 0.5 ? ROOF : k)), own: marked.own.map((own) => (own || random.next() < 0.15 ? 1 : 0)), isThin: true };
    const { size, round } = refineFootprint(rough, glass, scatter);
    expect(round).toBe(false);
    expect(Math.abs(size[0] - 0.9)).toBeLessThan(SPACING);
    expect(Math.abs(size[1] - 0.6)).toBeLessThan(SPACING);
  });
});
