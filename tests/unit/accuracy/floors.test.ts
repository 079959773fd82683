import { expect, test } from 'vitest';
import { belowFloors } from '../../accuracy/floors.ts';
import { headlineValues, HEADLINES, reaches } from '../../accuracy/headline.ts';
import { scoreBoth, type CaseResult } from '../../accuracy/run-case.ts';
import { gableTruth } from '../../fixtures/gable-truth.ts';
import { recordOfTruth } from '../../fixtures/record-of-truth.ts';

const result = (record = recordOfTruth(gableTruth), failure: string | null = null): CaseResult => ({
  ...scoreBoth(record, gableTruth, gableTruth, 'gable 0'),
  case: { kind: 'gable', seed: 0, noise: 'correlated', spacing: 0.05 }, name: 'gable 0',
  pointCount: 1000, seconds: 1, widthRatios: [1.2], oracleU95Deg: [0.1], oracleOutlines: [{ areaError: 0.01, sideOffsetsM: [], cornerDistancesM: [], corners: [] }], failure,
});
/** A scatter and a share of many intervals take more than one roof: as a good run has them. */
const MANY_ROOFS: Readonly<Record<string, number>> = { 'their height: standard deviation': 0.5, 'the quantity whose 95 % intervals hold least': 95, 'the quantity whose 95 % intervals hold most: lower binomial bound': 96 };
const valuesOf = (results: readonly CaseResult[]) => headlineValues(results, 0).map((one) => ({ ...one, value: one.value ?? MANY_ROOFS[one.headline.name] ?? null }));
const empty = { ...recordOfTruth(gableTruth), buildings: [] };

test('a perfect record falls below no floor; an empty one and a failed survey do', () => {
  expect(belowFloors(valuesOf([result()]), [result()])).toEqual([]);
  const lines = belowFloors(headlineValues([result(empty, 'Error: broke')], 0), [result(empty, 'Error: broke')]);
  expect(lines.some((l) => l.startsWith('planes of 2 m² and more: completeness: 0.0 %'))).toBe(true);
  expect(lines.at(-1)).toBe('gable 0: Error: broke');
});

test('edges half a spacing off, and intervals that hold half of the time, fall below theirs', () => {
  const spoiled = valuesOf([result()]).map((one) => ({
    ...one, value: one.headline.name === 'outline sides of 3 m and more: bias' ? 0.5 : one.headline.name === '95 % intervals that hold the truth, all quantities' ? 54 : one.value,
  }));
  expect(belowFloors(spoiled, [result()])).toEqual(['outline sides of 3 m and more: bias: 0.500 spacings, floor 0.06', '95 % intervals that hold the truth, all quantities: 54.0 %, floor 94']);
});

test('half the planes missing are fifty per cent, and bootstrap draws span from none to all', () => {
  const values = headlineValues([result(), result(empty)], 100);
  const completeness = values.find((v) => v.headline.name === 'planes of 2 m² and more: completeness')!;
  expect(completeness).toMatchObject({ value: 50, low: 0, high: 100 });
});

test('goals: more, less, within', () => {
  const named = (name: string) => HEADLINES.find((h) => h.name === name)!;
  expect(reaches(named('edge kind right'), 97, 97)).toBe(true);
  expect(reaches(named('edge kind right'), 96.9, 97)).toBe(false);
  expect(reaches(named('corners: rms'), 1.01, 1)).toBe(false);
  expect(reaches(named('95 % intervals that hold the truth, all quantities'), 99.5, [90, 99])).toBe(false);
});

test('intervals that always hold are short of the promise once they are many enough to tell', () => {
  const name = 'the quantity whose 95 % intervals hold most: lower binomial bound';
  const most = (roofs: number) => headlineValues(Array.from({ length: roofs }, () => result()), 0).find(({ headline }) => headline.name === name)!;
  expect(most(10).value).toBeNull();
  // Seven edges a roof: 105 that all hold may still be 96.5 % (Wilson), 420 are at least 99.1 %.
  expect(most(15).value).toBeCloseTo(96.5, 1);
  expect(most(60).value).toBeCloseTo(99.1, 1);
  const all = valuesOf([result()]).map((one) => (one.headline.name === name ? most(60) : one));
  expect(belowFloors(all, [result()])).toEqual([`${name}: 99.1 %, floor 99`]);
});
