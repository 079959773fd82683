import { expect, test } from 'vitest';
import { typedLength } from '../../../src/units/typed-length.ts';
import { exampleLength, lengthUnit, sentenceIn, shortLength, smallNumber, smallUnit, smallUnits, toldLength } from '../../../src/units/unit-in-use.ts';
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

test('what an instrument told is written to its step in the unit in use', () => {
  expect(['m', 'mm', 'ft-in'].map((length) => toldLength(7.423, units(length as UnitChoice['length'])))).toEqual(['7.423 m', '7423 mm', '24′ 4.24″']);
  expect(['m', 'mm', 'ft-in'].map((length) => toldLength(0.0123, smallUnits(units(length as UnitChoice['length'])), 0.0001))).toEqual(['12.3 mm', '12.3 mm', '0.484″']);
});

test('a small length as a bare number keeps its sign and never says minus nothing', () => {
  expect([0.0254, -0.0127, -0.00001].map((metres) => smallNumber(metres, units('ft-in')))).toEqual(['1.00', '−0.50', '0.00']);
  expect([0.0254, -0.0127, -0.00001].map((metres) => smallNumber(metres, units('m')))).toEqual(['25', '−13', '0']);
});

test.each([
  ['ft-in', 'A scale error below 0.30 % or an edge offset below 31 mm would be found.', 'A scale error below 0.30 % or an edge offset below 1.22 in would be found.'],
  ['ft-in', 'The model lies −25 ± 13 mm east.', 'The model lies −0.98 ± 0.51 in east.'],
  ['ft-in', '7.4 m; tells most of scale', '24.3 ft; tells most of scale'],
  ['ft-in', '± 2.5 mm at 10.00 m (Directive 2014/32/EU, annex X, table 1)', '± 0.098 in at 32.81 ft (Directive 2014/32/EU, annex X, table 1)'],
  ['mm', '7.4 m; lean by 12 mm', '7400 mm; lean by 12 mm'],
  ['m', '7.4 m; lean by 12 mm', '7.4 m; lean by 12 mm'],
  ['ft-in', '12.5 m² and 9 N/m, at 3 metres', '12.5 m² and 9 N/m, at 3 metres'],
] as const)('in %s: %s', (length, from, to) => expect(sentenceIn(from, units(length))).toBe(to));
