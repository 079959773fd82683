import { describe, expect, test } from 'vitest';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import { HiddenLines } from '../../../src/viewer/hidden-lines.ts';
import { freeAxes } from '../../../src/viewer/projection.ts';
import { sceneOf } from '../../../src/viewer/scene.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const scene = sceneOf(gableRecord(), new Set());
/** Behind the ridge of 8 m, seen from the south at 20°: the roof hides it. */
const behind: [Vector3, Vector3] = [[2, 9.5, 3.6], [8, 9.5, 3.6]];
const before: [Vector3, Vector3] = [[2, -3, 0.5], [8, -3, 0.5]];

describe('hidden lines', () => {
  test('a line behind the roof is hidden, one before it is not', () => {
    const lines = new HiddenLines(freeAxes(180, 20), scene);
    expect(lines.visibleRuns(...behind)).toEqual([]);
    expect(lines.visibleRuns(...before)).toEqual([[0, 1]]);
  });

  test('without time lines pass as seen, and every frame gets further until all is known', () => {
    const lines = new HiddenLines(freeAxes(180, 20), scene);
    lines.beginFrame(0);
    expect(lines.visibleRuns(...behind)).toEqual([[0, 1]]);
    expect(lines.isUnfinished).toBe(true);
    const asked = Array.from({ length: 300 }, (_, i): [Vector3, Vector3] => [[1 + i / 50, 9.5, 3.6], [1.5 + i / 50, 9.5, 3.6]]);
    let frames = 0;
    do {
      // However long drawing takes, it is not counted.
      const until = performance.now() + 2;
      while (performance.now() < until);
      lines.beginFrame(0.05);
      for (const line of asked) lines.visibleRuns(...line);
    } while (lines.isUnfinished && ++frames < 1000);
    expect(lines.isUnfinished).toBe(false);
    expect(asked.every((line) => lines.visibleRuns(...line).length === 0)).toBe(true);
  });
});
