import { expect, test } from 'vitest';
import type { RecordPick } from '../../../../src/roof/record.ts';
import { addObstruction, HEIGHT_NOT_MEASURED, withHeight } from '../../../../src/survey/correct/add-obstruction.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const [gable] = gableRecord().buildings;
const picks = (...places: readonly (readonly [number, number])[]): RecordPick[] => places.map(([x, y]) => ({ at: [x, y, 5], landedOn: 'plane', of: 'b1.p1', sigmaM: [0.01, 0.01, 0.01] }));

test('a thing drawn clockwise stands counter-clockwise on the plane under it, its height open until measured', () => {
  const drawn = addObstruction(gable!, 'b1.o2', picks([1, 1], [1, 3], [2, 3], [2, 1]), HEIGHT_NOT_MEASURED);
  const thing = drawn.obstructions[1]!;
  expect(thing).toMatchObject({ id: 'b1.o2', onPlane: 'b1.p1', resolvability: 'marginal', heightAboveRoofM: { value: null } });
  expect(thing.planAreaM2.value).toBeCloseTo(2, 9);
  expect(thing.footprint).toEqual([[2, 1], [2, 3], [1, 3], [1, 1]]);
  const measured = withHeight(drawn, 'b1.o2', { value: 0.8, u95: 0.02 });
  expect(measured.obstructions[1]).toMatchObject({ resolvability: 'resolved', heightAboveRoofM: { value: 0.8 } });
  expect(() => validateRecord({ ...gableRecord(), buildings: [measured] }, 'drawn')).not.toThrow();
});

test('off the roof, or without area, it is refused', () => {
  expect(() => addObstruction(gable!, 'b1.o2', picks([20, 1], [20, 3], [22, 3]), HEIGHT_NOT_MEASURED)).toThrow(/no roof plane/);
  expect(() => addObstruction(gable!, 'b1.o2', picks([1, 1], [1, 3]), HEIGHT_NOT_MEASURED)).toThrow(/three corners/);
});
