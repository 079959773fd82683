import { describe, expect, test } from 'vitest';
import { HiddenLines } from '../../../src/viewer/hidden-lines.ts';
import { freeAxes, planAxes } from '../../../src/viewer/projection.ts';
import { sceneOf } from '../../../src/viewer/scene.ts';
import { cutScene, insideShares, type SectionLine } from '../../../src/viewer/section-cut.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const scene = sceneOf(gableRecord(), new Set());
const across: SectionLine = { from: [2, -5], to: [2, 15], thicknessM: 0.3 };

describe('cutScene', () => {
  test('across the gable: up to the ridge, down to the eave, ground from wall to wall', () => {
    const pieces = cutScene(scene, across);
    const rounded = pieces.map(({ kind, name, path }) => [kind, name, path.map((p) => p.map((v) => Math.round(v * 1e6) / 1e6))]);
    expect(rounded).toEqual([
      ['plane', 'p1', [[2, 0, 3], [2, 5, 8]]],
      ['plane', 'p2', [[2, 5, 8], [2, 10, 3]]],
      ['ground', 'b1', [[2, 0, 0], [2, 10, 0]]],
    ]);
  });

  test('through a thing its foot follows the roof and its top is level', () => {
    const thing = cutScene(scene, { ...across, from: [4.5, -5], to: [4.5, 15] }).find(({ kind }) => kind === 'thing')!;
    const heights = thing.path.map(([, , z]) => Math.round(z * 1e6) / 1e6);
    // Footprint from y = 2 to 3 on a 45° roof that starts at 3 m: feet at 5 and 6 m; top 1.2 m over the middle.
    expect(heights).toEqual([5, 6.7, 6.7, 6]);
  });

  test('beside the roof nothing is cut', () => {
    expect(cutScene(scene, { from: [-5, -5], to: [-5, 15], thicknessM: 0.3 })).toEqual([]);
  });
});

test('insideShares: a hole parts the line, and the line ends inside', () => {
  const square = (low: number, high: number) => [[low, low], [high, low], [high, high], [low, high]] as const;
  const shares = insideShares({ from: [-1, 5], to: [9, 5], thicknessM: 0 }, [square(0, 10), square(4, 6)]);
  expect(shares.map((pair) => pair.map((v) => Math.round(v * 1e6) / 1e6))).toEqual([[0.1, 0.5], [0.7, 1]]);
});

describe('HiddenLines', () => {
  test('from above all of a gable is seen; from the south the north eave is hidden', () => {
    const north = scene.edges.find(({ id }) => id === 'b1.e4')!;
    expect(new HiddenLines(planAxes(0), scene).visibleRuns(north.from, north.to)).toHaveLength(1);
    expect(new HiddenLines(freeAxes(180, 20), scene).visibleRuns(north.from, north.to)).toEqual([]);
    expect(new HiddenLines(freeAxes(0, 20), scene).visibleRuns(north.from, north.to)).toHaveLength(1);
  });

  test('a thing hides the part of the roof behind it, and only that', () => {
    // Seen level from the west: the box reaches from y = 2 to 3 and from 4.3 to 6.7 m.
    const lines = new HiddenLines(freeAxes(270, 0), scene);
    expect(lines.isVisible([8, 2.5, 6.2])).toBe(false);
    expect(lines.isVisible([8, 2.5, 6.9])).toBe(true);
    expect(lines.isVisible([3, 2.5, 6.2])).toBe(true);
  });
});
