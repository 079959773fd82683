import { describe, expect, test } from 'vitest';
import type { Cloud } from '../../../src/cloud/cloud.ts';
import type { PickRay } from '../../../src/survey/measure/pick-ray.ts';
import { partAt } from '../../../src/viewer/pick-part.ts';
import { pickPoint } from '../../../src/viewer/pick-point.ts';
import { pointsToDraw } from '../../../src/viewer/point-budget.ts';
import { planAxes, type Projection } from '../../../src/viewer/projection.ts';
import { sceneOf } from '../../../src/viewer/scene.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const down = (x: number, y: number): PickRay => ({ origin: [x, y, 50], direction: [0, 0, -1], right: [1, 0, 0], up: [0, 1, 0], metresPerPixel: 0.02 });

/** A level sheet of points 10 cm apart at 5 m, one cell of 10 m, its origin away from zero. */
function sheet(extra: readonly (readonly [number, number, number])[] = []): Cloud {
  const places: (readonly [number, number, number])[] = [...extra];
  for (let x = 0; x < 100; x++) for (let y = 0; y < 100; y++) places.push([x / 10 + 0.05, y / 10 + 0.05, 5]);
  const origin = [100, 200, 0] as const;
  return {
    grid: { origin: [100, 200], cellSize: 10, columns: 1, rows: 1 },
    cells: [{ column: 0, row: 0, origin, pointCount: places.length, positions: Float32Array.from(places.flat()), colours: null, intensity: null, classification: null }],
    pointCount: places.length,
    bounds: { min: [100, 200, 0], max: [110, 210, 12] },
  };
}

describe('pickPoint', () => {
  test('the nearest point of the surface under the pointer', () => {
    const at = pickPoint(sheet(), down(103.06, 204.04), 0.05, null)!;
    expect(at.map((v) => Math.round(v * 1000) / 1000)).toEqual([103.05, 204.05, 5]);
  });

  test('a stray floating above is not taken, a crowd is', () => {
    const stray = [[3.06, 4.04, 9]] as const;
    expect(pickPoint(sheet(stray), down(103.06, 204.04), 0.05, null)![2]).toBeCloseTo(5, 5);
    const crowd = Array.from({ length: 6 }, (_, i) => [3.06 + i / 1000, 4.04, 9] as const);
    expect(pickPoint(sheet(crowd), down(103.06, 204.04), 0.05, null)![2]).toBeCloseTo(9, 5);
  });

  test('nothing beside the cloud, nothing outside a section’s strip', () => {
    expect(pickPoint(sheet(), down(120, 204), 0.05, null)).toBeNull();
    const fromSouth: PickRay = { origin: [105, 190, 5], direction: [0, 1, 0], right: [1, 0, 0], up: [0, 0, 1], metresPerPixel: 0.02 };
    expect(pickPoint(sheet(), fromSouth, 0.2, 4)).toBeNull();
    expect(pickPoint(sheet(), fromSouth, 0.2, 24)).not.toBeNull();
  });
});

describe('partAt', () => {
  const scene = sceneOf(gableRecord(), new Set());
  test.each([
    ['a thing before the plane it stands on', 4.5, 2.5, 'obstruction', 'O1'],
    ['an edge before its planes', 3, 5.05, 'edge', 'R1'],
    ['a plane', 8, 8, 'plane', 'p2'],
  ] as const)('%s', (_, x, y, kind, name) => {
    expect(partAt(scene, down(x, y))).toMatchObject({ kind, name, building: 'b1' });
  });
  test('nothing beside the roof', () => expect(partAt(scene, down(-4, -4))).toBeNull());
});

describe('pointsToDraw', () => {
  const view: Projection = { ...planAxes(0), centre: [105, 205, 5], pixelsPerMetre: 40, width: 800, height: 600 };
  test('nothing of a cell outside the picture or the strip', () => {
    expect(pointsToDraw(sheet(), { ...view, centre: [300, 205, 5] }, null, 1e6, 1)).toEqual([0]);
    expect(pointsToDraw(sheet(), view, { from: [0, 0], to: [0, 400], thicknessM: 0.5 }, 1e6, 1)).toEqual([0]);
  });
  test('no more than the budget, nor than the picture can show', () => {
    expect(pointsToDraw(sheet(), view, null, 2500, 1)).toEqual([2500]);
    expect(pointsToDraw(sheet(), { ...view, pixelsPerMetre: 4 }, null, 1e6, 1)).toEqual([1600]);
    expect(pointsToDraw(sheet(), view, null, 1e6, 1)).toEqual([10_000]);
  });
});
