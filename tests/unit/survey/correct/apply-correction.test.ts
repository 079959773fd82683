import { describe, expect, it } from 'vitest';
import { signedPlanArea, surfaceArea } from '../../../../src/geometry/polygon.ts';
import { length, subtract, type Vector3 } from '../../../../src/geometry/vector.ts';
import type { AppliedCorrection, RoofRecord } from '../../../../src/roof/record.ts';
import type { TapeReading } from '../../../../src/site/tape-reading.ts';
import { applyCorrection, offeredCorrections } from '../../../../src/survey/correct/apply-correction.ts';
import { insetRing } from '../../../../src/survey/correct/inset-edges.ts';
import { doStep, startHistory, undo } from '../../../../src/survey/history.ts';
import { checkTape } from '../../../../src/survey/tape/check-tape.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { isKnown, type Measured } from '../../../../src/units/measured.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';
import { recordHarbour } from '../../../fixtures/record-harbour.ts';

const WHO = { by: 'A.K.', at: '2026-05-02T10:00:00Z', why: 'tapes of 2 May' } as const;
const correction = (kind: AppliedCorrection['kind'], amount: number | null, u95: number, more: Partial<AppliedCorrection> = {}): AppliedCorrection => ({ kind, amount, u95, about: [5, 5, 5.5], readings: ['T1'], ...WHO, ...more });
const valueOf = (number: Measured): number => (isKnown(number) ? number.value : Number.NaN);
const applied = (record: RoofRecord, what: AppliedCorrection): RoofRecord => validateRecord(applyCorrection(record, what), 'corrected record');

const LINES: readonly (readonly [Vector3, Vector3])[] = [
  [[0, 0, 3], [10, 0, 3]], [[0, 5, 8], [10, 5, 8]], [[0, 10, 3], [10, 10, 3]], [[10, 0, 3], [10, 5, 8]], [[0, 0, 3], [0, 5, 8]], [[0, 10, 3], [0, 5, 8]], [[0, 0, 3], [10, 5, 8]], [[0, 0, 3], [10, 10, 3]],
];
/** Tapes along lines of the gable, as they read when `tape(length, rise)` is true. */
function tapesOf(record: RoofRecord, tape: (size: number, rise: number) => number): TapeReading[] {
  return LINES.map(([a, b], i) => ({
    id: `T${i + 1}`, kind: 'distance', ends: [a, b].map((end) => end.map((v, axis) => v + record.frame.origin[axis]!) as unknown as Vector3),
    value: tape(length(subtract(b, a)), Math.abs(b[2] - a[2])), sigma: 0.003, by: 'A.K.', at: '2026-05-02', note: '',
  }));
}
const checked = (tape: (size: number, rise: number) => number): RoofRecord => {
  const record = gableRecord();
  return { ...record, tape: checkTape(record, tapesOf(record, tape)) };
};
/** Sigmas of the model small enough for eight tapes of 5 to 15 m to tell causes apart. */
const sharp = (record: RoofRecord): RoofRecord => ({
  ...record,
  sampling: { ...record.sampling, noiseM: 0.001, pointSpacingM: 0.005 },
  buildings: record.buildings.map((building) => ({ ...building, edges: building.edges.map((edge) => ({ ...edge, positionM: { value: 0, u95: 0.004 } })) })),
});

describe('a scale correction of 0.5 percent', () => {
  const before = gableRecord();
  const after = applied(before, correction('scale', 0.005, 0.001));
  const plane = after.buildings[0]!.roofPlanes[0]!;

  it('makes lengths shorter by it and areas by its square, as the corners say', () => {
    expect(valueOf(after.buildings[0]!.edges[0]!.slopeLengthM)).toBeCloseTo(10 / 1.005, 9);
    expect(valueOf(plane.planAreaM2)).toBeCloseTo(50 / 1.005 ** 2, 9);
    expect(valueOf(plane.planAreaM2)).toBeCloseTo(signedPlanArea(plane.outline), 9);
    expect(valueOf(plane.slopeAreaM2)).toBeCloseTo(surfaceArea(plane.outline), 6);
    expect(valueOf(after.buildings[0]!.obstructions[0]!.heightAboveRoofM)).toBeCloseTo(1.2 / 1.005, 9);
  });
  it('leaves pitch and azimuth alone', () => {
    expect(plane.pitchDeg).toEqual(before.buildings[0]!.roofPlanes[0]!.pitchDeg);
    expect(plane.azimuthDeg).toEqual(before.buildings[0]!.roofPlanes[0]!.azimuthDeg);
  });
  it('keeps itself in the record, with who and why', () => expect(after.corrections).toEqual([correction('scale', 0.005, 0.001)]));
  it('puts its own doubt in the place of the assumed scale', () => {
    const harbour = recordHarbour();
    const found = (record: RoofRecord): Measured[] => record.buildings.flatMap(({ edges }) => edges.map(({ slopeLengthM }) => slopeLengthM));
    const withScale = { ...harbour, buildings: harbour.buildings.map((building) => ({ ...building, edges: building.edges.map((edge) => ({ ...edge, slopeLengthM: { value: 10, u95: 0.011, parts: [{ name: 'ends', u95: 0.01 }, { name: 'scale', u95: 0.005 }] } })) })) };
    for (const number of found(applied(withScale, correction('scale', 0.002, 0.003)))) {
      expect(number).toMatchObject({ parts: [{ name: 'ends', u95: expect.closeTo(0.01 / 1.002, 9) }, { name: 'scale', u95: expect.closeTo(valueOf(number) * 0.003, 12) }] });
    }
  });
  it('leaves what a person typed as it was typed', () => {
    const typed: RoofRecord = { ...before, smallFeatures: [{ id: 'f1', kind: 'drain', onPlane: null, at: [[1, 1, 4]], widthM: { value: 0.1, u95: 0.01, parts: [{ name: 'as typed', u95: 0.01 }] }, heightM: { value: null, why: 'not measured yet' }, resolvability: 'below', why: '', verifyOnSite: true, proposedBy: 'person' }] };
    expect(valueOf(applied(typed, correction('scale', 0.005, 0.001)).smallFeatures[0]!.widthM)).toBe(0.1);
  });
});

describe('a correction of heights by 2 percent', () => {
  const plane = applied(gableRecord(), correction('vertical-scale', 0.02, 0.004)).buildings[0]!.roofPlanes[0]!;
  it('changes the pitch as the corners say, and the plan not at all', () => {
    expect(valueOf(plane.pitchDeg)).toBeCloseTo((Math.atan(1 / 1.02) * 180) / Math.PI, 9);
    expect(valueOf(plane.planAreaM2)).toBe(50);
    expect(valueOf(plane.slopeAreaM2)).toBeCloseTo(surfaceArea(plane.outline), 6);
  });
});

describe('an edge offset of 6 cm between two edges', () => {
  const { outline, roofPlanes, edges } = applied(gableRecord(), correction('edge', 0.06, 0.01)).buildings[0]!;
  it('moves each verge and eave in by 3 cm, and shortens the ridge by both ends', () => {
    // The fixture names one verge and one eave of each plane it knows; those it does not name stay.
    expect(roofPlanes[0]!.outline[1]).toEqual([expect.closeTo(9.97, 9), expect.closeTo(0.03, 9), expect.closeTo(3.03, 9)]);
    expect(valueOf(edges[1]!.slopeLengthM)).toBeCloseTo(9.97, 9);
    expect(outline[0]).toEqual([expect.closeTo(0.03, 9), expect.closeTo(0.03, 9)]);
  });
  it('gives areas of the moved corners', () => {
    for (const plane of roofPlanes) {
      expect(valueOf(plane.planAreaM2)).toBeCloseTo(signedPlanArea(plane.outline), 9);
      expect(valueOf(plane.slopeAreaM2)).toBeCloseTo(surfaceArea(plane.outline), 6);
    }
  });
  it('a ring of a square is inset on all sides', () => expect(Math.abs(signedPlanArea(insetRing([[0, 0], [0, 4], [4, 4], [4, 0]], 0.5)))).toBeCloseTo(9, 9));
});

describe('from the readings to the correction and back', () => {
  it('a scale error is offered, applied, and gone from the check made after it', () => {
    const record = sharp(checked((size) => size / 1.008));
    const first = { ...record, tape: checkTape(record, record.tape!.taken!) };
    const [offer, ...more] = offeredCorrections(first);
    expect([offer!.kind, more]).toEqual(['scale', []]);
    expect(offer!.amount).toBeCloseTo(0.008, 3);
    const { says: _says, ...what } = offer!;
    const after = applied(first, { ...what, ...WHO });
    expect(after.tape!.explanation.kind).toBe('chance');
    expect(Math.abs(valueOf(after.tape!.biasM))).toBeLessThan(0.001);
    expect(after.tape!.notes!.join(' ')).toMatch(/corrected by T1, T2.*no proof/);
    expect(first.tape!.verdict).toBe('disagrees');
  });
  it('chance offers nothing', () => expect(offeredCorrections(checked((size) => size + 0.001))).toEqual([]));
  it('a shift at checkpoints moves the origin and no length', () => {
    const record = gableRecord();
    const corners: Vector3[] = [[0, 0, 3], [10, 0, 3], [10, 10, 3], [0, 10, 3]];
    const taken = corners.map((at, i): TapeReading => ({ id: `C${i}`, kind: 'checkpoint', ends: [[at[0] + 500_000 - 0.1, at[1] + 6_000_000, at[2]]], value: null, sigma: 0.004, by: '', at: '', note: '' }));
    const first = { ...record, tape: checkTape(record, taken) };
    const offer = offeredCorrections(first).find(({ kind }) => kind === 'shift')!;
    const { says: _says, ...what } = offer;
    const after = applied(first, { ...what, ...WHO });
    expect(after.frame.origin[0]).toBeCloseTo(499_999.9, 6);
    expect(after.buildings).toEqual(record.buildings);
    expect(Math.abs(valueOf(after.tape!.site!.eastM))).toBeLessThan(1e-6);
  });
  it('undo brings back every number', () => {
    const before = startHistory(checked((size) => size / 1.008));
    const after = doStep(before, { title: 'scale', at: WHO.at, command: { kind: 'apply-correction', correction: correction('scale', 0.008, 0.001) } });
    expect(undo(after).record).toEqual(before.record);
  });
});

describe('edges that cannot move', () => {
  it('leave their building as it was, which the correction says; where none can, it is refused', () => {
    const record = gableRecord();
    const [building] = record.buildings;
    // A sliver 15 cm wide: moving both sides in by 10 cm turns it inside out.
    const sliver: RoofRecord['buildings'][number] = {
      ...building!, id: 'b2', outline: [[20, 0], [20.15, 0], [20.15, 10], [20, 10]], obstructions: [],
      roofPlanes: [{ ...building!.roofPlanes[0]!, id: 'b2.p1', normal: [0, 0, 1], offset: -3, outline: [[20, 0, 3], [20.15, 0, 3], [20.15, 10, 3], [20, 10, 3]] }],
      edges: [],
    };
    const corners = sliver.roofPlanes[0]!.outline;
    const narrow = { ...sliver, edges: corners.map((from, i) => ({ ...building!.edges[0]!, id: `b2.e${i}`, planes: ['b2.p1'], from, to: corners[(i + 1) % corners.length]! })) };
    const after = applied({ ...record, buildings: [building!, narrow] }, correction('edge', 0.2, 0.01));
    expect(after.corrections![0]!.leftOut).toEqual(['b2']);
    expect(after.buildings[1]).toEqual(narrow);
    expect(after.buildings[0]).not.toEqual(building);
    expect(() => applyCorrection({ ...record, buildings: [narrow] }, correction('edge', 0.2, 0.01))).toThrow(/the outline turns inside out when its edges move/);
  });
});
