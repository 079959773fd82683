import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { numberFromBytes } from '../../../../src/io/text/number-from-bytes.ts';
import { bytesOf } from '../../../fixtures/read-source.ts';

const read = (text: string, decimalComma = false): number => numberFromBytes(bytesOf(text), 0, text.length, decimalComma);

describe('numbers in text bytes', () => {
  it.each(['0', '-0', '7', '-1.5', '+2.25', '.5', '5.', '6277546.987654321', '123456789012345', '1234567890123456789', '0.1', '1e3', '2.5E-7', '1e400', '9007199254740993', '0.000000000000000000000000012'])(
    '%s is what the language reads', (text) => {
      const expected = Number(text);
      if (Number.isFinite(expected)) expect(read(text)).toBe(expected);
      else expect(read(text)).toBeNaN();
    },
  );

  it.each(['', '-', '.', 'x', '1x', '0x10', '1e', '1.2.3', 'nan', 'inf', 'Infinity', '3.1+e2', '1,5', '1 2'])('%j is no number', (text) => {
    expect(read(text)).toBeNaN();
  });

  it('reads a decimal comma when told to', () => {
    expect(read('-12,75', true)).toBe(-12.75);
    expect(read('1,5e2', true)).toBe(150);
    expect(read('1.5', true)).toBeNaN();
  });

  it('agrees with the language on any double and any fixed notation', () => {
    fc.assert(fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => read(String(value)) === value), { seed: 7, numRuns: 2000 });
    fc.assert(fc.property(fc.double({ min: -1e7, max: 1e7, noNaN: true }), fc.integer({ min: 0, max: 12 }), (value, places) => read(value.toFixed(places)) === Number(value.toFixed(places))), { seed: 8, numRuns: 2000 });
  });
});
