import { expect, test } from 'vitest';
import { typedLength } from '../../../src/units/typed-length.ts';
import { exampleLength, lengthUnit, shortLength, smallUnit } from '../../../src/units/unit-in-use.ts';
import type { UnitChoice } from '../../../src/units/written-reading.ts';

const units = (length: UnitChoice['length']): UnitChoice => ({ length, pitch: 'deg' });

// International foot and inch of 1959: 0.3048 m and 25.4 mm exactly.
test.each([
  ['m', 0.1204, '120 mm'], ['m', 5.02, '5 m'], ['mm', 0.0086, '8.6 mm'], ['ft-in', 0.127, '5 in'], ['ft-in', 0.00254, '0.1 in'], ['ft-in', 1.524, '5 ft'],
] as const)('in %s %d m is %s', (length, metres, written) => expect(shortLength(metres, units(length))).toBe(written));

test('a length typed without a unit is in the one that is chosen', () => {
  expect(typedLength('2.5', lengthUnit(units('m')).metres)).toBe(2.5);
  expect(typedLength('2500', lengthUnit(units('mm')).metres)).toBeCloseTo(2.5, 12);
  expect(typedLength('10', lengthUnit(units('ft-in')).metres)).toBeCloseTo(3.048, 12);
  // With a unit it is what it says.
  expect(typedLength('2.5 m', lengthUnit(units('ft-in')).metres)).toBe(2.5);
  expect(typedLength('6"', lengthUnit(units('mm')).metres)).toBeCloseTo(0.1524, 12);
  expect(smallUnit(units('ft-in'))).toEqual({ word: 'in', metres: 0.0254 });
});

test('an example is what may be typed, and reads back as what it stands for', () => {
  expect(['m', 'mm', 'ft-in'].map((length) => exampleLength(0.85, units(length as UnitChoice['length'])))).toEqual(['0.85 m', '850 mm', `2' 9"`]);
  for (const length of ['m', 'mm', 'ft-in'] as const) {
    for (const metres of [0.3, 0.85, 7.42]) expect(Math.abs(typedLength(exampleLength(metres, units(length))) - metres)).toBeLessThan(0.013);
  }
});
