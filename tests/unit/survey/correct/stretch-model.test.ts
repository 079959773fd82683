import { expect, test } from 'vitest';
import { stretchBuilding } from '../../../../src/survey/correct/stretch-model.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const building = gableRecord().buildings[0]!;

test('a building stretched alike in all directions keeps the area of all its planes together; stretched in height each surface grows by its own', () => {
  const alike = stretchBuilding(building, { about: [0, 0, 0], horizontal: 1.01, vertical: 1.01, u95: 0.002, isVertical: false });
  const sum = alike.roofPlanes.reduce((total, { slopeAreaM2 }) => total + slopeAreaM2.value!, 0);
  expect(alike.roofArea!.slopeAreaM2.value).toBeCloseTo(sum, 9);
  expect(alike.roofArea!.planAreaM2.value).toBeCloseTo(102.01, 9);
  const upright = stretchBuilding(building, { about: [0, 0, 0], horizontal: 1, vertical: 1.01, u95: 0.002, isVertical: true });
  const { slopeAreaM2, planAreaM2 } = upright.roofArea!;
  expect(planAreaM2).toEqual(building.roofArea!.planAreaM2);
  // Two surfaces of 1 : 1 that become 1 : 1.01.
  expect(slopeAreaM2.value).toBeCloseTo(100 * Math.hypot(1, 1.01), 9);
});
