import { describe, expect, it } from 'vitest';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import { length, subtract } from '../../../../src/geometry/vector.ts';
import { insetEdges } from '../../../../src/survey/correct/inset-edges.ts';
import { edgeShares } from '../../../../src/survey/tape/edge-share.ts';
import type { RoofRecord } from '../../../../src/roof/record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

/** The gable with all its edges: two eaves, the ridge, four verges. */
function wholeGable(): RoofRecord {
  const record = gableRecord();
  const [building] = record.buildings;
  const rake = building!.edges[2]!;
  const more = [['b1.e5', 'b1.p1', [0, 0, 3], [0, 5, 8]], ['b1.e6', 'b1.p2', [10, 10, 3], [10, 5, 8]], ['b1.e7', 'b1.p2', [0, 10, 3], [0, 5, 8]]] as const;
  return { ...record, buildings: [{ ...building!, edges: [...building!.edges, ...more.map(([id, plane, from, to]) => ({ ...rake, id, planes: [plane], from: [...from] as Vector3, to: [...to] as Vector3 }))] }] };
}

const record = wholeGable();
const share = (from: Vector3, to: Vector3, measures: 'slope' | 'level' | 'height' = 'slope'): number => edgeShares(record)({ from, to, measures });

describe('how much of an edge offset a reading shows', () => {
  it('along an eave or a ridge between two verges: all of it', () => {
    expect(share([0, 0, 3], [10, 0, 3])).toBeCloseTo(1, 9);
    expect(share([0, 5, 8], [10, 5, 8])).toBeCloseTo(1, 9);
  });
  it('from eave to ridge: half of it, along a slope of 45° stretched by √2', () => {
    expect(share([10, 0, 3], [10, 5, 8])).toBeCloseTo(Math.SQRT2 / 2, 9);
    expect(share([10, 0, 3], [10, 5, 8], 'level')).toBeCloseTo(0.5, 9);
    expect(share([10, 0, 3], [10, 5, 8], 'height')).toBeCloseTo(0.5, 9);
  });
  it('from eave to eave across the house: all of it', () => expect(share([0, 0, 3], [0, 10, 3])).toBeCloseTo(1, 9));
  it('from the middle of an eave to the middle of the ridge: half, from plane to plane: none', () => {
    expect(share([5, 0, 3], [5, 5, 8], 'level')).toBeCloseTo(0.5, 9);
    expect(share([3, 2, 5], [7, 2, 5])).toBe(0);
  });
  it('is what a correction of edges then takes away, to the first order', () => {
    const offset = 0.02;
    const [moved] = [insetEdges(record.buildings[0]!, offset / 2, 0.001)];
    for (const [i, edge] of record.buildings[0]!.edges.entries()) {
      const before = length(subtract(edge.to, edge.from));
      const after = length(subtract(moved.edges[i]!.to, moved.edges[i]!.from));
      expect(before - after, edge.id).toBeCloseTo(offset * share(edge.from, edge.to), 6);
    }
  });
});
