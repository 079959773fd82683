import { describe, expect, it } from 'vitest';
import * as same from '../../../src/geometry/same-math.ts';

/** Distance in units of the last place of the second. */
function lastPlaces(value: number, expected: number): number {
  if (Object.is(value, expected)) return 0;
  const view = new DataView(new ArrayBuffer(8));
  view.setFloat64(0, Math.abs(expected));
  view.setBigUint64(0, view.getBigUint64(0) + 1n);
  return Math.abs(value - expected) / (view.getFloat64(0) - Math.abs(expected));
}

function worst(own: (x: number) => number, engine: (x: number) => number, from: number, to: number): number {
  let most = 0;
  for (let i = 0; i <= 20_000; i++) {
    const x = from + ((to - from) * i) / 20_000 + (i % 7) * 1e-9;
    most = Math.max(most, lastPlaces(own(x), engine(x)));
  }
  return most;
}

describe('functions that are the same on every engine', () => {
  it.each([
    ['sin', same.sin, Math.sin, -7, 7], ['sin of many turns', same.sin, Math.sin, -9e4, 9e4],
    ['cos', same.cos, Math.cos, -7, 7], ['cos of many turns', same.cos, Math.cos, -9e4, 9e4],
    ['atan', same.atan, Math.atan, -30, 30], ['exp', same.exp, Math.exp, -700, 700], ['log', same.log, Math.log, 1e-6, 50],
    ['log of large numbers', same.log, Math.log, 1, 1e300],
  ] as const)('%s lies within 2 units in the last place of this engine\'s', (_, own, engine, from, to) => {
    expect(worst(own, engine, from, to)).toBeLessThanOrEqual(2);
  });

  it.each([
    ['tan', same.tan, Math.tan, -1.5, 1.5], ['asin', same.asin, Math.asin, -0.999, 0.999], ['acos', same.acos, Math.acos, -0.999, 0.999],
    ['power 1.5', (x: number) => same.pow(x, 1.5), (x: number) => x ** 1.5, 0.01, 20], ['cube', (x: number) => same.pow(x, 3), (x: number) => x ** 3, -20, 20],
    ['log10', same.log10, Math.log10, 1e-3, 1e3],
  ] as const)('%s, made of those, within 8 units in the last place', (_, own, engine, from, to) => {
    expect(worst(own, engine, from, to)).toBeLessThanOrEqual(8);
  });

  it('keeps the corners of atan2, signs of zero included (ECMA-262, Math.atan2)', () => {
    const values = [0, -0, 1, -1, 0.3, -7, Infinity, -Infinity];
    for (const y of values) for (const x of values) expect(lastPlaces(same.atan2(y, x), Math.atan2(y, x)), `atan2(${y}, ${x})`).toBeLessThanOrEqual(1);
    expect(same.atan2(NaN, 1)).toBeNaN();
  });

  it('gives what it should at the ends', () => {
    expect(same.exp(0)).toBe(1);
    expect(same.exp(1000)).toBe(Infinity);
    expect(same.exp(-1000)).toBe(0);
    expect(same.log(0)).toBe(-Infinity);
    expect(same.log(-1)).toBeNaN();
    expect(same.log(1)).toBe(0);
    expect(same.acos(1)).toBe(0);
    expect(same.acos(1.1)).toBeNaN();
    expect(same.sin(0)).toBe(0);
    expect(same.cos(NaN)).toBeNaN();
    for (let k = -12; k <= 12; k++) expect(same.log10(Number(`1e${k}`))).toBe(k);
  });

  it('refuses an angle that no roof has', () => {
    expect(() => same.sin(1e6)).toThrow('Expected an angle within');
  });

  it('gives fixed bits, so that a change of any coefficient is seen', () => {
    // Tables of constants (Abramowitz & Stegun 1964, table 1.1 and 4.6 ff.): sin 1, cos 1, arctan 1/2, e², ln 10, to the nearest double.
    expect(same.sin(1)).toBe(0.8414709848078965);
    expect(same.cos(1)).toBe(0.5403023058681398);
    expect(same.atan(0.5)).toBe(0.4636476090008061);
    expect(same.exp(2)).toBe(7.38905609893065);
    expect(same.log(10)).toBe(2.302585092994046);
  });
});
