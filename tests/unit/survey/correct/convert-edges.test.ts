import { describe, expect, it } from 'vitest';
import { signedPlanArea } from '../../../../src/geometry/polygon.ts';
import { applyCommand } from '../../../../src/survey/commands.ts';
import { conversionOf, type StatedConversion } from '../../../../src/survey/correct/convert-edges.ts';
import { recordText } from '../../../../src/survey/write-record.ts';
import { isKnown, type Measured } from '../../../../src/units/measured.ts';
import { slopeAreaOf } from '../../../../src/reading/roof-area.ts';
import type { EdgeKind, RoofEdge } from '../../../../src/roof/record.ts';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const who = { by: 'A. Lindqvist', at: '2026-05-04T10:00:00Z', why: 'taped at the north-east corner' };
const record = gableRecord();
const convert = (stated: StatedConversion) => applyCommand(record, { kind: 'apply-correction', correction: conversionOf(record, stated, who) });
const part = (number: Measured, name: string): number => (isKnown(number) ? (number.parts ?? []).find((one) => one.name === name)?.u95 ?? 0 : 0);

describe('an eave brought from the cover edge to the gutter lip', () => {
  const stated = { to: 'gutter-lip', offsetM: 0.12, u95M: 0.015, kinds: ['eave'] } as const;
  const { record: after, inverse } = convert(stated);
  const [before, now] = [record.buildings[0]!, after.buildings[0]!];
  const eaves = before.edges.filter(({ kind }) => kind === 'eave');

  it('there is such an eave', () => expect(eaves.length).toBeGreaterThan(0));

  it('planes grow by the strip in front of it, and the doubt of the strip is a part of its own', () => {
    for (const plane of before.roofPlanes) {
      const grown = now.roofPlanes.find(({ id }) => id === plane.id)!;
      const length = eaves.filter(({ planes }) => planes[0] === plane.id).reduce((sum, { from, to }) => sum + Math.hypot(to[0] - from[0], to[1] - from[1]), 0);
      // The rakes run on in their own direction, square to the eave on a gable: a strip is length × width.
      expect(grown.planAreaM2.value! - plane.planAreaM2.value!).toBeCloseTo(0.12 * length, 6);
      expect(part(grown.planAreaM2, 'edge conversion')).toBeCloseTo(0.015 * length, 9);
      if (length === 0) expect(grown).toEqual(plane);
      if (isKnown(grown.planAreaM2) && isKnown(plane.planAreaM2)) expect(grown.planAreaM2.u95).toBeCloseTo(Math.hypot(plane.planAreaM2.u95, 0.015 * length), 9);
    }
    const sum = now.roofPlanes.reduce((total, { planAreaM2 }) => total + planAreaM2.value!, 0);
    expect(signedPlanArea(now.outline)).toBeCloseTo(sum, 6);
  });

  it('says of each edge what it is, what was measured, by how much and by whom; the others stay', () => {
    for (const edge of now.edges) {
      const old = before.edges.find(({ id }) => id === edge.id)!;
      if (edge.kind !== 'eave') {
        expect(edge.convertedFrom).toBeUndefined();
        continue;
      }
      expect(edge.measuredAs).toBe('gutter-lip');
      expect(edge.convertedFrom).toMatchObject({ measuredAs: old.measuredAs ?? 'cover-edge', offsetM: { value: 0.12, u95: 0.015 }, by: who.by, why: who.why });
      expect(edge.slopeLengthM.value).toBeCloseTo(old.slopeLengthM.value!, 9);
    }
    const rake = now.edges.find(({ kind }) => kind === 'rake')!;
    expect(rake.slopeLengthM.value!).toBeGreaterThan(before.edges.find(({ id }) => id === rake.id)!.slopeLengthM.value!);
    const stretch = rake.slopeLengthM.value! / Math.hypot(rake.to[0] - rake.from[0], rake.to[1] - rake.from[1]);
    expect(part(rake.slopeLengthM, 'edge conversion')).toBeCloseTo(0.015 * stretch, 9);
  });

  it('is a record the schema takes, and one undo brings back every byte', () => {
    expect(() => recordText(after)).not.toThrow();
    expect(recordText(applyCommand(after, inverse).record)).toBe(recordText(record));
  });

  it('a second offset is doubted on its own', () => {
    const rakes = conversionOf(after, { to: 'wall-line', offsetM: -0.3, u95M: 0.02, kinds: ['rake'] }, who);
    const both = applyCommand(after, { kind: 'apply-correction', correction: rakes }).record.buildings[0]!;
    for (const plane of both.roofPlanes) {
      const one = now.roofPlanes.find(({ id }) => id === plane.id)!;
      const length = now.edges.filter(({ kind, planes }) => kind === 'rake' && planes[0] === plane.id).reduce((sum, { from, to }) => sum + Math.hypot(to[0] - from[0], to[1] - from[1]), 0);
      expect(plane.planAreaM2.value!).toBeLessThan(one.planAreaM2.value!);
      expect(part(plane.planAreaM2, 'edge conversion')).toBeCloseTo(Math.hypot(part(one.planAreaM2, 'edge conversion'), 0.02 * length), 6);
    }
  });
});

describe('all edges of a roof of 10 m by 10 m brought outwards', () => {
  const one = record.buildings[0]!;
  const side = (id: string, kind: EdgeKind, plane: string, from: Vector3, to: Vector3): RoofEdge => ({ ...one.edges[0]!, id, kind, planes: [plane], from, to });
  const [south, north] = one.roofPlanes;
  const sides = [south!, north!].flatMap(({ id, outline }, p) =>
    outline.map((from, i) => side(`b1.s${p}${i}`, i === 0 ? 'eave' : 'rake', id, from, outline[(i + 1) % outline.length]!)).filter((_, i) => i !== 2));
  const edges = [...sides, one.edges.find(({ kind }) => kind === 'ridge')!];
  const whole = { ...record, buildings: [{ ...one, edges }] };
  const correction = conversionOf(whole, { to: 'gutter-lip', offsetM: 0.12, u95M: 0.015, kinds: ['eave', 'rake'] }, who);
  const after = applyCommand(whole, { kind: 'apply-correction', correction }).record.buildings[0]!;

  it('the building is as large as its outline, in plan and on its slopes of 45°', () => {
    expect(signedPlanArea(after.outline)).toBeCloseTo(10.24 ** 2, 6);
    expect(after.roofArea!.planAreaM2.value).toBeCloseTo(10.24 ** 2, 6);
    expect(slopeAreaOf(after)).toBe(after.roofArea!.slopeAreaM2);
    expect(after.roofArea!.slopeAreaM2.value).toBeCloseTo(after.roofPlanes.reduce((sum, { slopeAreaM2 }) => sum + slopeAreaM2.value!, 0), 9);
  });

  it('keeps what was measured of both planes together, and one offset counts along the whole outline', () => {
    // Steiner's formula: a convex outline moved outwards by d gains its perimeter times d to first order.
    expect(part(after.roofArea!.planAreaM2, 'edge conversion')).toBeCloseTo(0.015 * 40, 9);
    expect(part(after.roofArea!.slopeAreaM2, 'edge conversion')).toBeCloseTo(0.015 * 40 * Math.SQRT2, 9);
    expect(part(after.roofArea!.planAreaM2, 'fit')).toBe(0.25);
    // Single planes taken together for one that is refused: the offset is the same for all of them.
    const { roofArea: _, ...planesAlone } = after;
    expect(part(slopeAreaOf(planesAlone), 'edge conversion')).toBeCloseTo(0.015 * 40 * Math.SQRT2, 9);
  });
});

describe('offsets that are none', () => {
  for (const [name, wrong, says] of [
    ['no length', { offsetM: 0 }, 'not 0'],
    ['a street away', { offsetM: 12 }, 'up to 3 m'],
    ['without doubt', { u95M: 0 }, 'more than 0'],
    ['of an edge between planes', { kinds: ['hip'] }, 'ends a roof'],
    ['of an edge that is not there', { edges: ['b9.e1'] }, 'ends a roof'],
  ] as const) {
    it(`${name} is refused`, () => {
      expect(() => conversionOf(record, { to: 'wall-line', offsetM: -0.4, u95M: 0.02, kinds: ['eave'], ...wrong }, who)).toThrow(says);
    });
  }
});
