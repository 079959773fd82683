import { describe, expect, it } from 'vitest';
import { addFinding } from '../../../src/find/add-finding.ts';
import type { Segmentation } from '../../../src/find/segmentation.ts';
import type { Building, RoofEdge, RoofPlane } from '../../../src/roof/record.ts';

const plane = (id: string) => ({ id, evidence: { notes: [] } }) as unknown as RoofPlane;
const edge = (id: string, ...planes: string[]) => ({ id, planes }) as unknown as RoofEdge;

const building = {
  roofPlanes: [plane('p1'), plane('p2'), plane('p3')],
  edges: [edge('e1', 'p1', 'p2'), edge('e2', 'p2', 'p3'), edge('e3', 'p1')],
} as unknown as Building;
const labels = new Map([['p1', 4], ['p2', 5], ['p3', 6]]);
const told = (known: Pick<Segmentation, 'curvedSurfaces' | 'separations' | 'joins'>): Building => addFinding(building, labels, known as Segmentation);

describe('addFinding', () => {
  it('numbers curved surfaces and drops the lines between their strips alone', () => {
    const { roofPlanes, edges } = told({ curvedSurfaces: [[9], [4, 5]], separations: [], joins: [] });
    expect(roofPlanes.map((p) => p.evidence!.curvedSurface)).toEqual([1, 1, undefined]);
    expect(roofPlanes[0]!.evidence!.notes).toEqual(['one of 2 flat strips that stand for a curved surface']);
    expect(edges.map(({ id }) => id)).toEqual(['e2', 'e3']);
  });

  it('tells both planes the chance that they are one', () => {
    // 7.815 is the 95 % point of chi-squared with 3 degrees of freedom (table value).
    const { roofPlanes } = told({ curvedSurfaces: [], separations: [{ first: 5, second: 6, chiSquared: 7.815, independentCount: 40 }, { first: 4, second: 5, chiSquared: 900, independentCount: 50 }], joins: [] });
    expect(roofPlanes[2]!.evidence!.apartFrom).toEqual([{ plane: 'p2', pValue: expect.closeTo(0.05, 4), independentCount: 40 }]);
    expect(roofPlanes[1]!.evidence!.apartFrom!.map((one) => one.plane)).toEqual(['p3', 'p1']);
    // Never nothing: the tail is lost in rounding there.
    expect(roofPlanes[0]!.evidence!.apartFrom![0]!.pValue).toBe(1e-9);
  });

  it('tells a plane from how many patches it was joined, and the chance of the least likely join', () => {
    const { roofPlanes } = told({ curvedSurfaces: [], separations: [], joins: [{ label: 5, patches: 3, chiSquared: 7.815 }] });
    expect(roofPlanes[1]!.evidence!.joinedFrom).toEqual({ patches: 3, leastPValue: expect.closeTo(0.05, 4) });
    expect(roofPlanes[0]!.evidence!.joinedFrom).toBeUndefined();
  });
});
