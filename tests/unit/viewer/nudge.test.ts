import { describe, expect, test } from 'vitest';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import type { Snap } from '../../../src/survey/measure/snap.ts';
import type { SnapTargets } from '../../../src/survey/measure/snap-targets.ts';
import { nudged, placeInSight } from '../../../src/viewer/nudge.ts';
import { freeAxes, planAxes, type Projection } from '../../../src/viewer/projection.ts';

const plan: Projection = { ...planAxes(0), centre: [0, 0, 0], pixelsPerMetre: 100, width: 800, height: 600 };
const slope = { id: 'b1.p1', name: 'p1', normal: [0, -Math.SQRT1_2, Math.SQRT1_2] as const, offset: 0, outline: [], holes: [], evidence: null, pointCount: 10 };
const targets: SnapTargets = { corners: [], edges: [], planes: [slope] };
const snap = (landedOn: Snap['pick']['landedOn'], of: string | null): Snap => ({ pick: { at: [1, 2, 2], landedOn, of, sigmaM: [0.01, 0.01, 0.01] }, name: 'it', key: 'it', pixels: 0 });

describe('nudged', () => {
  test('a corner becomes a place of its own, a millimetre at a time', () => {
    const moved = nudged(snap('corner', 'b1.p1'), plan, [0.003, -0.001], targets);
    expect(moved.pick).toMatchObject({ landedOn: 'typed', of: null });
    expect(moved.pick.at.map((v) => Math.round(v * 1e6) / 1e6)).toEqual([1.003, 1.999, 2]);
    expect(moved.name).toBe('it, moved 3 mm right and 1 mm down');
  });

  test('a place on a plane stays on it, also when it is moved in a view from the side', () => {
    const free: Projection = { ...plan, ...freeAxes(150, 38) };
    const { at, landedOn } = nudged(snap('plane', 'b1.p1'), free, [0.05, 0.02], targets).pick;
    expect(landedOn).toBe('plane');
    expect((at[2] - at[1]) * Math.SQRT1_2).toBeCloseTo(0, 9);
    expect(at).not.toEqual([1, 2, 2]);
  });

  test('not moved is the same', () => {
    const same = snap('edge', 'b1.e1');
    expect(nudged(same, plan, [0, 0], targets)).toBe(same);
  });
});

describe('placeInSight', () => {
  const corners: readonly Vector3[] = [[-1, 1, 0], [1, 1, 0], [0, -1, 0], [100, 0, 0]];

  test('walks what is in sight in reading order, and round', () => {
    const first = placeInSight(corners, plan, null, 1)!;
    expect(first).toEqual({ x: 300, y: 200 });
    const second = placeInSight(corners, plan, first, 1)!;
    expect(second).toEqual({ x: 500, y: 200 });
    const third = placeInSight(corners, plan, second, 1)!;
    expect(third).toEqual({ x: 400, y: 400 });
    expect(placeInSight(corners, plan, third, 1)).toEqual(first);
    expect(placeInSight(corners, plan, first, -1)).toEqual(third);
  });

  test('from anywhere it begins with the next one; with none there is none', () => {
    expect(placeInSight(corners, plan, { x: 400, y: 300 }, 1)).toEqual({ x: 400, y: 400 });
    expect(placeInSight([[100, 0, 0]], plan, null, 1)).toBeNull();
  });
});
