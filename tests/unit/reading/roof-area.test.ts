import { describe, expect, test } from 'vitest';
import { togetherReadings } from '../../../src/reading/area-uncertainty.ts';
import { slopeAreaOf } from '../../../src/reading/roof-area.ts';
import { DEFAULT_ASSUMPTIONS } from '../../../src/reading/assumptions.ts';
import type { Building } from '../../../src/roof/record.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const building = gableRecord().buildings[0]!;
const sum = building.roofPlanes.reduce((total, { slopeAreaM2 }) => total + slopeAreaM2.value!, 0);
const together = { value: sum, u95: 0.5, parts: [{ name: 'rim', u95: 0.5 }] };
const measured: Building = { ...building, roofArea: { slopeAreaM2: together, planAreaM2: together } };

describe('slope area of a building', () => {
  test('is the one measured of all planes together, while they are all there and as measured', () => {
    expect(slopeAreaOf(measured)).toBe(together);
  });

  test('is a sum of single planes once a plane is refused or corrected, or where none was measured together', () => {
    const first = building.roofPlanes[0]!;
    expect(slopeAreaOf(measured, new Set([first.id])).value).toBeCloseTo(sum - first.slopeAreaM2.value!, 9);
    const corrected = { ...measured, roofPlanes: building.roofPlanes.with(0, { ...first, slopeAreaM2: { value: first.slopeAreaM2.value! + 1, u95: 0.2 } }) };
    expect(slopeAreaOf(corrected).value).toBeCloseTo(sum + 1, 9);
    expect(slopeAreaOf(building).value).toBeCloseTo(sum, 9);
    expect(slopeAreaOf({ ...measured, roofPlanes: [] }).value).toBeNull();
  });
});

test('planes that border: what they leave open together counts once, rims with one bias, scale for all', () => {
  // Two planes of 3 : 4, each 50 m² in plan, that meet in a ridge.
  const plane = { centroid: [0, 0] as const, elevation: 0, slopeX: 0.75, slopeY: 0, covariance: [0, 0, 0, 0, 1e-6, 0, 0, 0, 1e-6] };
  const { plan, slope } = togetherReadings(
    [{ plane, planArea: 50 }, { plane: { ...plane, slopeX: -0.75 }, planArea: 50 }],
    { plan: { edges: 0.1, rim: 0, planes: 0 }, slope: { edges: 0.125, rim: 0.16, planes: 0.04 } }, { ...DEFAULT_ASSUMPTIONS, scale: 0.001, tiltDeg: 0 },
  );
  expect(plan.value).toBe(100);
  // 3 : 4 : 5, so 1.25 m² of surface a m² of plan.
  expect(slope.value).toBeCloseTo(125, 12);
  const part = (name: string) => slope.parts!.find((one) => one.name === name)!.u95;
  expect(part('edge')).toBeCloseTo(1.96 * 0.125, 4);
  expect(part('rim')).toBeCloseTo(1.96 * 0.16, 4);
  expect(part('fit')).toBeCloseTo(1.96 * 0.04, 4);
  expect(part('scale')).toBeCloseTo(2 * 0.001 * 125, 12);
});
