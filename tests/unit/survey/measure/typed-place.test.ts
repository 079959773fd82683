import { expect, test } from 'vitest';
import type { RecordPick } from '../../../../src/roof/record.ts';
import { typedPlace, type TypedFrom } from '../../../../src/survey/measure/typed-place.ts';

const last: RecordPick = { at: [10, 20, 5], landedOn: 'corner', of: 'b1.p1', sigmaM: [0.01, 0.01, 0.01] };
const from: TypedFrom = { last, toward: [13, 24, 5], origin: [500_000, 6_000_000, 0], bareM: 1, fileUnitM: 1 };

test.each([
  ['2.5', [11.5, 22, 5]],
  ['2,5', [11.5, 22, 5]],
  ['250 cm', [11.5, 22, 5]],
  ['-2.5', [8.5, 18, 5]],
  // 10 ft are 3.048 m exactly.
  ["10'", [10 + 3.048 * 0.6, 20 + 3.048 * 0.8, 5]],
  ['1.2; 0.4', [11.2, 20.4, 5]],
  ['-1.2; 0; 0.3', [8.8, 20, 5.3]],
  ['= 500012; 6000021; 7.5', [12, 21, 7.5]],
])('%s', (text, at) => {
  const pick = typedPlace(text, from);
  expect(pick).toMatchObject({ landedOn: 'typed', of: null });
  at.forEach((value, axis) => expect(pick.at[axis]).toBeCloseTo(value, 9));
});

test.each([
  ['wide', from, /not a length/],
  ['1; 2; 3; 4', from, /east; north; up/],
  ['= 1; 2', from, /x; y; z/],
  ['2', { ...from, last: null }, /first place/],
  ['2', { ...from, toward: null }, /point where/],
  ['2', { ...from, toward: last.at }, /point where/],
] as const)('%s is refused when it says nothing', (text, given, why) => {
  expect(() => typedPlace(text, given)).toThrow(why);
});
