import { expect, test } from 'vitest';
import { stretchBuilding } from '../../../../src/survey/correct/stretch-model.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const building = gableRecord().buildings[0]!;

test('a building stretched alike in all directions keeps the area of all its planes together; stretched in height it does not', () => {
  const alike = stretchBuilding(building, { about: [0, 0, 0], horizontal: 1.01, vertical: 1.01, u95: 0.002, isVertical: false });
  const sum = alike.roofPlanes.reduce((total, { slopeAreaM2 }) => total + slopeAreaM2.value!, 0);
  expect(alike.roofArea!.slopeAreaM2.value).toBeCloseTo(sum, 9);
  expect(alike.roofArea!.planAreaM2.value).toBeCloseTo(102.01, 9);
  expect(stretchBuilding(building, { about: [0, 0, 0], horizontal: 1, vertical: 1.01, u95: 0.002, isVertical: true }).roofArea).toBeUndefined();
});
