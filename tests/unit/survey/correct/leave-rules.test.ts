import { describe, expect, it } from 'vitest';
import { regularRings } from '../../../../src/roof/regular-rings.ts';
import type { Building, RoofRecord } from '../../../../src/roof/record.ts';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import { applyCommand } from '../../../../src/survey/commands.ts';
import { recordText } from '../../../../src/survey/write-record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

/** The gable with every corner of its planes moved 2 cm east by rules. */
const record: RoofRecord = (() => {
  const gable = gableRecord();
  const east = ([x, y, z]: Vector3): Vector3 => [x + 0.02, y, z];
  const ruled = (building: Building): Building => ({
    ...building,
    roofPlanes: building.roofPlanes.map((plane) => ({ ...plane, regular: { outline: plane.outline.map(east), holes: plane.holes.map((hole) => hole.map(east)), slopeAreaM2: plane.slopeAreaM2.value!, greatestShiftM: 0.02 } })),
    edges: building.edges.map((edge) => ({ ...edge, regular: { from: east(edge.from), to: east(edge.to), shiftM: 0.02, kept: ['in line'] as const, refused: [], tests: [{ rule: 'in line' as const, offM: 0.02, pValue: 0.3, kept: true }] } })),
  });
  return { ...gable, buildings: gable.buildings.map(ruled) };
})();
const [building] = record.buildings;
const leave = (id: string, off: boolean, on = record) => applyCommand(on, { kind: 'leave-rules', building: building!.id, id, off });

describe('rules that sides are drawn to', () => {
  it('are left out for one plane, taken again, and undone to the byte', () => {
    const plane = building!.roofPlanes[0]!;
    const { record: without, inverse } = leave(plane.id, true);
    const now = without.buildings[0]!;
    expect(regularRings(now.roofPlanes[0]!, now)).toBeNull();
    expect(regularRings(now.roofPlanes[1]!, now)).not.toBeNull();
    expect(recordText(applyCommand(without, inverse).record)).toBe(recordText(record));
    expect(recordText(leave(plane.id, false, without).record)).toBe(recordText(record));
  });

  it('left out for one edge its two corners stay as measured, the others follow the rules', () => {
    const edge = building!.edges.find(({ kind }) => kind === 'eave')!;
    const now = leave(edge.id, true).record.buildings[0]!;
    const plane = now.roofPlanes.find(({ id }) => id === edge.planes[0])!;
    const rings = regularRings(plane, now)!;
    const held = rings.outline.filter((corner, i) => corner[0] === plane.outline[i]![0]);
    expect(held).toHaveLength(2);
    expect(rings.outline.length).toBeGreaterThan(2);
  });

  it('a part that is drawn to none has none to leave out', () => {
    expect(() => applyCommand(gableRecord(), { kind: 'leave-rules', building: building!.id, id: building!.edges[0]!.id, off: true })).toThrow('drawn to no rule');
  });
});
