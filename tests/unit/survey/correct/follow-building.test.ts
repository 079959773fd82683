import { describe, expect, test } from 'vitest';
import type { RecordPick, RoofRecord } from '../../../../src/roof/record.ts';
import { applyCommand } from '../../../../src/survey/commands.ts';
import { followBuilding } from '../../../../src/survey/correct/follow-building.ts';
import { moveCorner } from '../../../../src/survey/correct/move-corner.ts';
import { pinnedFeature } from '../../../../src/survey/measure/pinned-feature.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const pick = (at: RecordPick['at'], landedOn: RecordPick['landedOn'], of: string | null): RecordPick => ({ at, landedOn, of, sigmaM: [0.01, 0.01, 0.01] });
const eave = [pick([0, 0, 3], 'corner', 'b1.p1'), pick([10, 0, 3], 'corner', 'b1.p1')];
const distance = (id: string, picks: readonly RecordPick[]): RoofRecord['readings'][number] => ({ id, kind: 'distance', picks, valueM: { value: 10, u95: 0.03 }, method: 'straight between two picks' });
const withReadings = (...readings: RoofRecord['readings']): RoofRecord => ({ ...gableRecord(), readings });

const after = (record: RoofRecord, building: RoofRecord['buildings'][number]): RoofRecord =>
  applyCommand(record, { kind: 'several', commands: [{ kind: 'set-building', to: building }, ...followBuilding(record, building)] }).record;

describe('followBuilding', () => {
  test('a length between corners follows the corner a hand moved', () => {
    const record = withReadings(distance('m1', eave));
    const moved = after(record, moveCorner(record.buildings[0]!, [10, 0, 3], [12, 0, 3], 0.01));
    expect(moved.readings[0]!.valueM!.value).toBeCloseTo(12, 9);
    expect(moved.readings[0]!.picks[1]!.at).toEqual([12, 0, expect.closeTo(3, 9)]);
    expect(moved.readings[0]!.note).toMatch(/taken again/);
    expect(() => validateRecord(moved, 'followed')).not.toThrow();
  });

  test('readings that nothing changed for stay the same objects', () => {
    const record = withReadings(distance('m1', eave), distance('m2', [pick([3, 3, 0], 'point', null), pick([4, 3, 0], 'point', null)]));
    const moved = after(record, moveCorner(record.buildings[0]!, [10, 10, 3], [10, 11, 3], 0.01));
    expect(moved.readings[0]).toBe(record.readings[0]);
    expect(moved.readings[1]).toBe(record.readings[1]);
  });

  test('a place on a plane goes up with it, and what hangs on it is counted anew', () => {
    const record = withReadings({ id: 'm1', kind: 'height-above-roof', picks: [pick([5, 2, 5], 'plane', 'b1.p1'), pick([5, 2, 7], 'point', null)], valueM: { value: 2, u95: 0.05 }, method: 'plumb' });
    const [gable] = record.buildings;
    // The whole plane one metre higher: offset grows by the normal's z.
    const south = gable!.roofPlanes[0]!;
    const raised = { ...south, offset: south.offset - south.normal[2], outline: south.outline.map(([x, y, z]): [number, number, number] => [x, y, z + 1]) };
    const moved = after(record, { ...gable!, roofPlanes: [raised, gable!.roofPlanes[1]!] });
    expect(moved.readings[0]!.picks[0]!.at[2]).toBeCloseTo(6, 9);
    expect(moved.readings[0]!.valueM!.value).toBeCloseTo(1, 9);
  });

  test('a mark that is gone leaves its reading as it was, and says so', () => {
    const record = withReadings(distance('m1', eave));
    const [gable] = record.buildings;
    const moved = after(record, { ...gable!, roofPlanes: [gable!.roofPlanes[1]!], edges: [] });
    expect(moved.readings[0]!.note).toBe('stale: the corner of pick 1 is no more');
    expect(moved.readings[0]!.valueM).toEqual(record.readings[0]!.valueM);
  });

  test('a pin finds the plane that is under it now', () => {
    const record = { ...gableRecord(), smallFeatures: [{ ...pinnedFeature('f1', [5, 2, 5], 'b1.p1', gableRecord()) }] };
    const [gable] = record.buildings;
    const renamed = { ...gable!.roofPlanes[0]!, id: 'b1.p3' };
    const moved = after(record, { ...gable!, roofPlanes: [renamed, gable!.roofPlanes[1]!], edges: [] });
    expect(moved.smallFeatures[0]!.onPlane).toBe('b1.p3');
  });
});
