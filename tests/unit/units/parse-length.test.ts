import { describe, expect, it } from 'vitest';
import { parseLength } from '../../../src/units/parse-length.ts';

describe('a written length', () => {
  it.each([
    ['7.42 m', 7.42], ['312mm', 0.312], ['85 cm', 0.85],
    // 1 inch = 25.4 mm exactly (international yard and pound agreement, 1959).
    [`12' 6 1/2"`, 3.8227], [`12'-6 1/2"`, 3.8227], ['12 ft 6 in', 3.81], [`3/4"`, 0.01905], [`6.5"`, 0.1651], [`4'`, 1.2192], ['4 ft', 1.2192], [`-2' 3"`, -0.6858], ['0"', 0],
  ])('%s is %d m', (text, expected) => expect(parseLength(text)).toBeCloseTo(expected, 12));

  it.each(['', 'high', '12', `12' 6 1/0"`, '1..2 m', `6" 12'`, '3 yd'])('"%s" is refused', (text) => {
    expect(() => parseLength(text)).toThrow('is not a length');
  });
});
