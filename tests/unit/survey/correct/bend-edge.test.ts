import { describe, expect, test } from 'vitest';
import { signedPlanArea } from '../../../../src/geometry/polygon.ts';
import { bendEdge, removeCorner } from '../../../../src/survey/correct/bend-edge.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const [gable] = gableRecord().buildings;
const bent = () => bendEdge(gable!, { edge: 'b1.e1', at: [4, 0.2, 3], to: [4, -2, 0], sigmaM: 0.01, newEdge: 'b1.e9' });

describe('bendEdge', () => {
  test('an eave gets a corner: one edge is two, and the triangle between is area', () => {
    const building = bent();
    const plane = building.roofPlanes[0]!;
    // A triangle over the 10 m eave with its tip 2 m out: 10 m² in plan, on a slope of 45° times √2.
    expect(plane.planAreaM2.value).toBeCloseTo(60, 9);
    expect(plane.slopeAreaM2.value).toBeCloseTo(60 * Math.SQRT2, 9);
    expect(plane.outline).toHaveLength(5);
    const [first, second] = ['b1.e1', 'b1.e9'].map((id) => building.edges.find((edge) => edge.id === id)!);
    // The tip lies on the plane: 2 m out is 2 m down.
    expect(first!.slopeLengthM.value).toBeCloseTo(Math.hypot(4, 2, 2), 9);
    expect(second!.slopeLengthM.value).toBeCloseTo(Math.hypot(6, 2, 2), 9);
    expect([first!.kind, second!.kind]).toEqual(['eave', 'eave']);
    expect(signedPlanArea(building.outline)).toBeCloseTo(110, 6);
    expect(() => validateRecord({ ...gableRecord(), buildings: [building] }, 'bent')).not.toThrow();
  });

  test('a ridge is straight, a corner too near to an end keeps away from it, and a crossing outline is refused', () => {
    expect(() => bendEdge(gable!, { edge: 'b1.e2', at: [4, 5, 8], to: [4, 6, 8], sigmaM: 0.01, newEdge: 'b1.e9' })).toThrow(/straight/);
    expect(() => bendEdge(gable!, { edge: 'b1.e1', at: [4, 0, 3], to: [4, 9, 3], sigmaM: 0.01, newEdge: 'b1.e9' })).toThrow(/crosses itself/);
    const close = bendEdge(gable!, { edge: 'b1.e1', at: [0, 0, 3], to: [0.1, -1, 2], sigmaM: 0.01, newEdge: 'b1.e9' });
    expect(close.roofPlanes[0]!.outline).toHaveLength(5);
  });
});

describe('removeCorner', () => {
  test('taking the new corner away gives the eave and its area back', () => {
    const building = removeCorner(bent(), [4, -2, 1]);
    const plane = building.roofPlanes[0]!;
    expect(plane.planAreaM2.value).toBeCloseTo(50, 9);
    expect(plane.outline).toHaveLength(4);
    expect(plane.planAreaM2.value === null ? [] : plane.planAreaM2.parts!.map(({ name }) => name)).toEqual(['fit']);
    const eave = building.edges.filter(({ kind }) => kind === 'eave');
    expect(eave).toHaveLength(1);
    expect(eave[0]!.slopeLengthM.value).toBeCloseTo(10, 9);
    expect(() => validateRecord({ ...gableRecord(), buildings: [building] }, 'straight')).not.toThrow();
  });

  test('a corner that holds two planes apart stays, and so does what is no corner', () => {
    expect(() => removeCorner(gable!, [10, 5, 8])).toThrow(/cannot go/);
    expect(() => removeCorner(gable!, [5, 5, 8])).toThrow(/no outline has a corner/);
  });
});
