import { expect, test } from 'vitest';
import { buildingStates, passesFilter } from '../../../src/panels/site-state.ts';
import type { Decision, RoofRecord } from '../../../src/roof/record.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const decide = (what: Decision['what'], about: string): Decision => ({ at: '2026-05-01T09:12:00.000Z', by: 'A.K.', what, about });

/** The gable, whose one edge has no kind, and a twin of it whose edges all have one. */
function twoBuildings(...decisions: Decision[]): RoofRecord {
  const [gable] = gableRecord().buildings;
  const twin = JSON.parse(JSON.stringify(gable).replaceAll('"b1', '"b2').replaceAll('unknown', 'eave')) as typeof gable;
  return { ...gableRecord(), buildings: [gable!, twin!], decisions };
}

test('each building is judged by itself', () => {
  const [first, second] = buildingStates(twoBuildings());
  expect(first).toMatchObject({ id: 'b1', roof: 'doubtful', worst: 'doubtful', signed: null });
  expect(second).toMatchObject({ id: 'b2', roof: 'answered', worst: 'answered', signed: null });
});

test('a signature stands until something of that building is decided', () => {
  expect(buildingStates(twoBuildings(decide('sign', 'b1')))[0]!.signed).toBe('A.K. 09:12');
  expect(buildingStates(twoBuildings(decide('sign', 'b1'), decide('refuse', 'b2.p1')))[0]!.signed).toBe('A.K. 09:12');
  expect(buildingStates(twoBuildings(decide('sign', 'b1'), decide('refuse', 'b1.p1')))[0]!.signed).toBeNull();
});

test('filters: doubtful and not yet signed for, unsigned, all', () => {
  const shown = (record: RoofRecord, filter: Parameters<typeof passesFilter>[1]) => buildingStates(record).filter((state) => passesFilter(state, filter)).map(({ id }) => id);
  expect(shown(twoBuildings(), 'doubtful')).toEqual(['b1']);
  expect(shown(twoBuildings(decide('sign', 'b1')), 'doubtful')).toEqual([]);
  expect(shown(twoBuildings(decide('sign', 'b1')), 'unsigned')).toEqual(['b2']);
  expect(shown(twoBuildings(decide('sign', 'b1')), 'all')).toEqual(['b1', 'b2']);
});
