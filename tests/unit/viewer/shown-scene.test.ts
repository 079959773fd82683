import { describe, expect, test } from 'vitest';
import type { BoardState } from '../../../src/viewer/board-state.ts';
import { boxBetween, isInside, withSide } from '../../../src/viewer/clip-box.ts';
import { sceneOf } from '../../../src/viewer/scene.ts';
import { cutScene } from '../../../src/viewer/section-cut.ts';
import { sectionAcross } from '../../../src/viewer/section-start.ts';
import { snapTargets } from '../../../src/survey/measure/snap-targets.ts';
import { pointedState, shownBox, shownScene } from '../../../src/viewer/shown-scene.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

/** Two gables: the second one as the first, 30 m to the south. */
function twoGables() {
  const record = gableRecord();
  const text = JSON.stringify(record.buildings[0]).replaceAll('"b1', '"b2');
  const second = JSON.parse(text) as (typeof record.buildings)[0];
  const moved = { ...second, outline: second.outline.map(([x, y]) => [x, y - 30] as const) };
  return { ...record, buildings: [...record.buildings, moved] };
}

const stateOf = (name: BoardState['name'], building: string | null): BoardState => {
  const record = twoGables();
  return { name, building, clip: null, scene: sceneOf(record, new Set()), targets: snapTargets(record) } as unknown as BoardState;
};

describe('what a view shows', () => {
  test('an elevation of one building shows it alone, and the pointer meets it alone', () => {
    const state = stateOf('elevation', 'b1');
    const shown = shownScene(state)!;
    expect(shown.buildings.map(({ id }) => id)).toEqual(['b1']);
    expect(new Set([...shown.planes, ...shown.edges, ...shown.things].map(({ building }) => building))).toEqual(new Set(['b1']));
    expect(shownScene(state)).toBe(shown);
    const pointed = pointedState(state);
    expect(pointed.targets!.planes.length).toBeGreaterThan(0);
    expect(pointed.targets!.planes.every(({ id }) => id.startsWith('b1.'))).toBe(true);
    const { min, max } = shown.buildings[0]!.bounds;
    expect(isInside(shownBox(state)!, (min[0] + max[0]) / 2, (min[1] + max[1]) / 2, max[2])).toBe(true);
    expect(isInside(shownBox(state)!, (min[0] + max[0]) / 2, min[1] - 20, max[2])).toBe(false);
  });

  test('other views, and an elevation of the site, show all of it', () => {
    for (const state of [stateOf('plan', 'b1'), stateOf('free', 'b1'), stateOf('elevation', null), stateOf('elevation', 'b9')]) {
      expect(shownScene(state)).toBe(state.scene);
      expect(shownBox(state)).toBeNull();
      expect(pointedState(state)).toBe(state);
    }
  });
});

describe('a clip box', () => {
  const site = { min: [0, 0, 2], max: [10, 20, 9] } as const;
  test('lies between two corners in any order, as high as before', () => {
    expect(boxBetween([7, 3], [1, 8], site)).toEqual({ min: [1, 3, 2], max: [7, 8, 9] });
  });
  test('a side never passes the opposite one', () => {
    expect(withSide(site, 'min', 0, 4)).toEqual({ min: [4, 0, 2], max: [10, 20, 9] });
    expect(withSide(site, 'min', 2, 50).min[2]).toBe(9);
    expect(withSide(site, 'max', 1, -3).max[1]).toBe(0);
  });
});

describe('the section shown before a person draws one', () => {
  test('runs down the fall of the largest sloping plane and leaves the roof on both sides', () => {
    const scene = sceneOf(gableRecord(), new Set());
    const { from, to } = sectionAcross(scene, 'b1', scene.bounds!, 0.05);
    const [plane] = scene.planes;
    const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const [fx, fy] = plane!.fall!;
    expect(Math.abs(((to[0] - from[0]) * fx + (to[1] - from[1]) * fy) / run / Math.hypot(fx, fy))).toBeCloseTo(1, 6);
    expect(to[0]).toBeGreaterThanOrEqual(from[0]);
    const pieces = cutScene(scene, { from, to, thicknessM: 0.1 }).filter(({ kind }) => kind === 'plane');
    expect(pieces.map(({ id }) => id).sort()).toEqual(scene.planes.map(({ id }) => id).sort());
  });
});

describe('a scene worked out anew', () => {
  test('keeps the parts of buildings that did not change, and leaves out what was refused', () => {
    const record = twoGables();
    const before = sceneOf(record, new Set());
    const after = sceneOf({ ...record, buildings: [record.buildings[0]!, { ...record.buildings[1]! }] }, new Set());
    const of = (scene: typeof before, id: string) => scene.planes.filter(({ building }) => building === id);
    expect(of(after, 'b1')[0]).toBe(of(before, 'b1')[0]);
    expect(of(after, 'b2')[0]).not.toBe(of(before, 'b2')[0]);
    expect(of(after, 'b2')[0]!.name).toBe(of(before, 'b2')[0]!.name);
    const without = sceneOf(record, new Set(['b1.p1']));
    expect(of(without, 'b1').map(({ id }) => id)).toEqual(['b1.p2']);
    expect(of(without, 'b2')[0]).toBe(of(before, 'b2')[0]);
    expect(of(sceneOf(record, new Set()), 'b1')).toHaveLength(2);
  });
});
