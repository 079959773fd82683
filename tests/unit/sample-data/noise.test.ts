import { describe, expect, test } from 'vitest';
import { makeRandom, upperTail } from '../../../sample-data/generator/random.ts';
import { blurLift } from '../../../sample-data/generator/rounding.ts';
import { makeSmoothField } from '../../../sample-data/generator/smooth-field.ts';

describe('random numbers', () => {
  test('mean 0, sigma 1, a normal share beyond two sigmas', () => {
    const random = makeRandom(4);
    const draws = Array.from({ length: 200_000 }, () => random.normal());
    const mean = draws.reduce((a, b) => a + b) / draws.length;
    expect(Math.abs(mean)).toBeLessThan(0.01);
    expect(Math.sqrt(draws.reduce((a, b) => a + b * b, 0) / draws.length)).toBeCloseTo(1, 2);
    expect(draws.filter((d) => Math.abs(d) > 2).length / draws.length).toBeCloseTo(0.0455, 2);
  });
  test('tail of the normal distribution', () => {
    // Abramowitz & Stegun 1964, table 26.1 (from memory): Q(1) = 0.158655, Q(2) = 0.022750.
    expect(upperTail(1)).toBeCloseTo(0.158655, 6);
    expect(upperTail(2)).toBeCloseTo(0.02275, 6);
  });
  test('forks differ from each other and from their parent', () => {
    const random = makeRandom(1);
    const a = random.fork();
    const b = random.fork();
    expect(new Set([a.next(), b.next(), random.next()]).size).toBe(3);
  });
});

describe('smooth field', () => {
  const field = makeSmoothField(makeRandom(9), { minX: 0, minY: 0, maxX: 60, maxY: 60 }, 0.5);
  const pairs = (gap: number): number => {
    let product = 0;
    let count = 0;
    for (let x = 0.13; x < 59; x += 0.31) for (let y = 0.07; y < 59; y += 0.29) {
      product += field.at(x, y) * field.at(x + gap, y);
      count++;
    }
    return product / count;
  };
  test('has sigma 1 and the stated autocorrelation exp(-d²/length²)', () => {
    // 60 m hold some 14 000 patches of 0.5 m: a hundredth is one sigma of these means.
    expect(pairs(0)).toBeCloseTo(1, 1);
    expect(Math.abs(pairs(0) - 1)).toBeLessThan(0.05);
    expect(Math.abs(pairs(0.25) - Math.exp(-0.25))).toBeLessThan(0.05);
    expect(Math.abs(pairs(0.5) - Math.exp(-1))).toBeLessThan(0.05);
    expect(Math.abs(pairs(1.5))).toBeLessThan(0.04);
  });
  test('goes on outside its rectangle by wrapping around', () => {
    expect(Number.isFinite(field.at(-3, 75))).toBe(true);
  });
});

test('the blur of a ridge is the integral of |x + z| over a normal z, less |x|', () => {
  for (const x of [0, 0.3, 1, 2.5]) {
    let sum = 0;
    const step = 0.001;
    for (let z = -8; z < 8; z += step) sum += Math.abs(x + z) * (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * step;
    expect(blurLift(x)).toBeCloseTo(sum - x, 4);
  }
});
