import { describe, expect, test } from 'vitest';
import { moveCorner } from '../../../../src/survey/correct/move-corner.ts';
import { InputError } from '../../../../src/units/input-error.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const [gable] = gableRecord().buildings;

describe('moveCorner', () => {
  test('a free corner goes where it is put, on its plane; area and edges follow', () => {
    // The south-east eave corner of p1 from (10, 0) to (12, 0): one triangle of 2 by 5 m in plan more.
    const moved = moveCorner(gable!, [10, 0, 3], [12, 0, 99], 0.01);
    const plane = moved.roofPlanes[0]!;
    expect(plane.outline[1]!.map((v) => Math.round(v * 1e9) / 1e9)).toEqual([12, 0, 3]);
    expect(plane.planAreaM2.value).toBeCloseTo(55, 9);
    expect(plane.slopeAreaM2.value).toBeCloseTo(55 * Math.SQRT2, 9);
    expect(moved.edges.find(({ id }) => id === 'b1.e1')!.slopeLengthM.value).toBeCloseTo(12, 9);
    expect(moved.edges.find(({ id }) => id === 'b1.e3')!.slopeLengthM.value).toBeCloseTo(Math.hypot(2, 5, 5), 9);
    expect(moved.roofPlanes[1]).toBe(gable!.roofPlanes[1]);
    // Both planes together grow by the same strip, with the hand's doubt beside what was measured of them together.
    const grown = moved.roofPlanes[0]!.planAreaM2.value! - gable!.roofPlanes[0]!.planAreaM2.value!;
    const { planAreaM2 } = moved.roofArea!;
    expect(planAreaM2.value).toBeCloseTo(100 + grown, 9);
    expect(planAreaM2.value === null ? [] : planAreaM2.parts).toEqual([{ name: 'fit', u95: 0.25 }, expect.objectContaining({ name: 'corner by hand at 12.00, 0.00' })]);
    expect(() => validateRecord({ ...gableRecord(), buildings: [moved] }, 'moved')).not.toThrow();
  });

  test('the doubt of the hand is a part of its own, and stands once however often it is moved', () => {
    const twice = moveCorner(moveCorner(gable!, [10, 0, 3], [12, 0, 3], 0.01), [12, 0, 3], [11, 0, 3], 0.01);
    const { slopeAreaM2 } = twice.roofPlanes[0]!;
    const parts = slopeAreaM2.value === null ? [] : slopeAreaM2.parts!;
    expect(parts.map(({ name }) => name)).toEqual(['fit', 'corner by hand at 11.00, 0.00']);
    // Half the diagonal between the neighbours (0, 0, 3) and (10, 5, 8), 95 % of 1 cm.
    expect(parts[1]!.u95).toBeCloseTo((1.96 * 0.01 * Math.hypot(10, 5, 5)) / 2, 9);
  });

  test('a corner of two planes stays on their ridge', () => {
    const moved = moveCorner(gable!, [10, 5, 8], [9, 6.3, 2], 0.01);
    for (const plane of moved.roofPlanes) expect(plane.outline.some((c) => Math.hypot(c[0] - 9, c[1] - 5, c[2] - 8) < 1e-9)).toBe(true);
    expect(moved.edges.find(({ id }) => id === 'b1.e2')!.slopeLengthM.value).toBeCloseTo(9, 9);
  });

  test('where three planes meet, or nothing is, or the outline would cross itself, it is refused', () => {
    const third = { ...gable!.roofPlanes[0]!, id: 'b1.p3' };
    expect(() => moveCorner({ ...gable!, roofPlanes: [...gable!.roofPlanes, third] }, [10, 5, 8], [9, 5, 8], 0.01)).toThrow(/planes meet here/);
    expect(() => moveCorner(gable!, [5, 0, 3], [5, 1, 4], 0.01)).toThrow(InputError);
    expect(() => moveCorner(gable!, [10, 0, 3], [5, 9, 3], 0.01)).toThrow(/crosses itself/);
  });
});
