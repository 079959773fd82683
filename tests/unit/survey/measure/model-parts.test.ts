import { describe, expect, it } from 'vitest';
import { areaReadings } from '../../../../src/reading/area-uncertainty.ts';
import type { RecordPick, RoofRecord } from '../../../../src/roof/record.ts';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import { signedPlanArea, surfaceArea } from '../../../../src/geometry/polygon.ts';
import { applyCommand } from '../../../../src/survey/commands.ts';
import { assumptionsOf, withModelParts } from '../../../../src/survey/measure/model-parts.ts';
import { ringNumbers, twoPickNumbers } from '../../../../src/survey/measure/numbers.ts';
import { isKnown, type Measured } from '../../../../src/units/measured.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const pick = (at: Vector3): RecordPick => ({ at, landedOn: 'typed', of: null, sigmaM: [0.001, 0.001, 0.001] });
const control = { scale: 0.002, tiltDeg: 0.5, northDeg: 1 };
const part = (number: Measured, name: string): number => (isKnown(number) ? (number.parts ?? []).find((one) => one.name === name)?.u95 ?? 0 : 0);
/** A place after the model was turned about the east axis. */
const aslant = ([x, y, z]: Vector3, degrees: number): Vector3 => {
  const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  return [x, c * y - s * z, s * y + c * z];
};

describe('what a number measured by hand shares with the whole model', () => {
  const rafter = [pick([0, 0, 0]), pick([0, 6, 3])];

  it('a distance, its run and its rise: scale, and level as far as a turned model shows', () => {
    const { slope, level, height } = twoPickNumbers(rafter[0]!, rafter[1]!);
    const turned = aslant([0, 6, 3], control.tiltDeg);
    expect(part(withModelParts('distance', slope, rafter, control), 'scale')).toBeCloseTo(0.002 * Math.hypot(6, 3), 9);
    expect(part(withModelParts('distance', slope, rafter, control), 'tilt')).toBe(0);
    // Turned by the tilt the rise grows by run × tilt and the run shrinks by rise × tilt; the second order is a thousandth of that.
    expect(Math.abs(part(withModelParts('height-difference', height, rafter, control), 'tilt') / (turned[2] - 3) - 1)).toBeLessThan(0.01);
    expect(Math.abs(part(withModelParts('level-distance', level, rafter, control), 'tilt') / (6 - turned[1]) - 1)).toBeLessThan(0.02);
  });

  it('areas: twice the scale; a turned model covers another area in plan, and its surface is as large as before', () => {
    const corners: Vector3[] = [[0, 0, 0], [8, 0, 0], [8, 5, 4], [0, 5, 4]];
    const picks = corners.map(pick);
    const { surface, plan } = ringNumbers(picks);
    const turned = corners.map((corner) => aslant(corner, -control.tiltDeg));
    const after = { surface: withModelParts('slope-area', surface, picks, control), plan: withModelParts('plan-area', plan, picks, control) };
    expect(surfaceArea(turned)).toBeCloseTo(surface.value!, 9);
    expect(part(after.surface, 'tilt')).toBe(0);
    expect(part(after.surface, 'scale')).toBeCloseTo(0.004 * surface.value!, 9);
    expect(Math.abs(part(after.plan, 'tilt') / (signedPlanArea(turned) - plan.value!) - 1)).toBeLessThan(0.02);
  });

  it('the same parts as the area of a plane that was found', () => {
    const plane = { centroid: [4, 2.5] as const, elevation: 2, slopeX: 0, slopeY: 0.8, covariance: [0, 0, 0, 0, 0, 0, 0, 0, 0] };
    const none = { edges: 0, rim: 0, planes: 0 };
    const found = areaReadings(plane, { planArea: 40, plan: none, slope: none }, control);
    const picks = [[0, 0, 0], [8, 0, 0], [8, 5, 4], [0, 5, 4]].map((at) => pick(at as unknown as Vector3));
    const { surface, plan } = ringNumbers(picks);
    for (const [byHand, ours] of [[withModelParts('slope-area', surface, picks, control), found.slope], [withModelParts('plan-area', plan, picks, control), found.plan]] as const) {
      for (const name of ['scale', 'tilt']) expect(part(byHand, name)).toBeCloseTo(part(ours, name), 9);
    }
  });

  it('a pitch: level whole; a bearing: north whole', () => {
    const number: Measured = { value: 30, u95: 0.1, parts: [{ name: 'pick 1', u95: 0.1 }] };
    expect(part(withModelParts('pitch', number, [], control), 'tilt')).toBe(0.5);
    expect(part(withModelParts('bearing', number, [], control), 'north')).toBe(1);
    const all = withModelParts('pitch', number, [], control);
    if (isKnown(all)) expect(all.u95).toBeCloseTo(Math.hypot(...all.parts!.map(({ u95 }) => u95)), 12);
  });
});

describe('what is taken for granted about a model', () => {
  const record = gableRecord();
  it('the usual where nothing is stated, what was stated, and what corrections have settled since', () => {
    expect(assumptionsOf(record)).toEqual({ tiltDeg: 0.02, scale: 0.0005, northDeg: 0.05 });
    const stated: RoofRecord = { ...record, madeBy: { ...record.madeBy, options: { control: { scale: 0.004 } } } };
    expect(assumptionsOf(stated).scale).toBe(0.004);
    const correction = { kind: 'scale' as const, amount: 0.003, u95: 0.0008, about: [0, 0, 0] as const, readings: [], by: 'A. L.', at: '2026-05-04T10:00:00Z', why: 'eight tapes' };
    expect(assumptionsOf({ ...stated, corrections: [correction] }).scale).toBe(0.0008);
  });

  it('a scale settled by tapes stands in the numbers that were measured by hand before', () => {
    const picks = [pick([0, 0, 5]), pick([6, 0, 5])];
    const reading = { id: 'm1', kind: 'distance' as const, picks, method: 'straight between two picks', valueM: withModelParts('distance', twoPickNumbers(picks[0]!, picks[1]!).slope, picks, control) };
    const correction = { kind: 'scale' as const, amount: 0.003, u95: 0.0008, about: [0, 0, 0] as const, readings: [], by: 'A. L.', at: '2026-05-04T10:00:00Z', why: 'eight tapes' };
    const after = applyCommand({ ...record, readings: [reading] }, { kind: 'apply-correction', correction }).record.readings[0]!.valueM!;
    expect(after.value).toBeCloseTo(6 / 1.003, 9);
    expect(part(after, 'scale')).toBeCloseTo(0.0008 * after.value!, 9);
  });
});
