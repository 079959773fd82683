import { describe, expect, test } from 'vitest';
import { assign } from '../../../../src/survey/score/assignment.ts';
import { planOverlap, planSpans } from '../../../../src/survey/score/plan-spans.ts';
import { quantile, sdOf, shareOf } from '../../../../src/survey/score/statistics.ts';

describe('best assignment', () => {
  test('gives up a greedy pair for a better sum', () => {
    // Greedy takes 0.9 and leaves 0.1; the best takes 0.8 + 0.7.
    expect(assign([[0.9, 0.8], [0.7, 0.1]], 2)).toEqual([1, 0]);
  });
  test('leaves pairs without gain unjoined, with more rows than columns and the reverse', () => {
    expect(assign([[0], [0.6], [0.5]], 1)).toEqual([-1, 0, -1]);
    expect(assign([[0, 0, 0.4]], 3)).toEqual([2]);
    expect(assign([], 2)).toEqual([]);
    expect(assign([[], []], 0)).toEqual([-1, -1]);
  });
  test('agrees with trying every order on small tables', () => {
    // A fixed congruential sequence (Lehmer 1951, modulus 2^31 - 1).
    let state = 7;
    const next = () => (state = (state * 48271) % 2147483647) / 2147483647;
    for (let round = 0; round < 50; round++) {
      const gains = Array.from({ length: 4 }, () => Array.from({ length: 4 }, () => (next() < 0.3 ? 0 : next())));
      const sum = (order: number[]) => order.reduce((total, c, r) => total + (c < 0 ? 0 : gains[r]![c]!), 0);
      const orders = (left: number[]): number[][] => (left.length === 0 ? [[]] : left.flatMap((c) => orders(left.filter((d) => d !== c)).map((o) => [c, ...o])));
      const best = Math.max(...orders([0, 1, 2, 3]).map(sum));
      expect(sum(assign(gains, 4))).toBeCloseTo(best, 12);
    }
  });
});

describe('overlap in plan', () => {
  const square = (x: number, y: number, size: number) => [[x, y], [x + size, y], [x + size, y + size], [x, y + size]] as const;
  test('two squares that share a quarter', () => {
    const both = planOverlap(planSpans([square(0, 0, 2)]), planSpans([square(1, 1, 2)]));
    expect(both.planArea).toBeCloseTo(1, 9);
    expect(both.centre[0]).toBeCloseTo(1.5, 9);
    expect(both.centre[1]).toBeCloseTo(1.5, 9);
  });
  test('a hole is not there', () => {
    expect(planSpans([square(0, 0, 2), square(0.5, 0.5, 1)]).planArea).toBeCloseTo(3, 9);
    expect(planOverlap(planSpans([square(0, 0, 2), square(0.5, 0.5, 1)]), planSpans([square(0.5, 0.5, 1)])).planArea).toBe(0);
  });
  test('a triangle of 3 by 4 is 6 in either sense', () => {
    expect(planSpans([[[0, 0], [3, 0], [0, 4]]]).planArea).toBeCloseTo(6, 6);
    expect(planSpans([[[0, 4], [3, 0], [0, 0]]]).planArea).toBeCloseTo(6, 6);
  });
  test('nothing overlaps nothing', () => {
    expect(planOverlap(planSpans([]), planSpans([square(0, 0, 1)])).planArea).toBe(0);
  });
});

describe('shares', () => {
  // Newcombe 1998 (Statistics in Medicine 17:857), table I, method 3 (score without continuity correction), from memory.
  test.each([
    [81, 263, 0.2553, 0.3662], [15, 148, 0.0624, 0.1605], [0, 20, 0, 0.1611], [1, 29, 0.0061, 0.1718],
  ])('%i of %i: the score interval of the literature', (hits, of, low, high) => {
    const share = shareOf(hits, of);
    expect(share.low).toBeCloseTo(low, 4);
    expect(share.high).toBeCloseTo(high, 4);
  });
  test('nothing counted has no share', () => {
    expect(shareOf(0, 0).share).toBeNull();
  });
});

test('quantiles lie between neighbours; spreads need two values', () => {
  expect(quantile([4, 1, 3, 2], 0.5)).toBe(2.5);
  expect(quantile([], 0.5)).toBeNull();
  expect(sdOf([1])).toBeNull();
  expect(sdOf([2, 4, 4, 4, 5, 5, 7, 9])).toBeCloseTo(Math.sqrt(32 / 7), 12);
});
