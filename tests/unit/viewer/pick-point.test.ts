import { describe, expect, test } from 'vitest';
import type { Cloud } from '../../../src/cloud/cloud.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';
import type { PickRay } from '../../../src/survey/measure/pick-ray.ts';
import { partAt } from '../../../src/viewer/pick-part.ts';
import { PickIndex } from '../../../src/viewer/pick-index.ts';
import { pickPoint } from '../../../src/viewer/pick-point.ts';
import { pointsToDraw } from '../../../src/viewer/point-budget.ts';
import { freeAxes, planAxes, type Projection } from '../../../src/viewer/projection.ts';
import { sceneOf } from '../../../src/viewer/scene.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const down = (x: number, y: number): PickRay => ({ origin: [x, y, 50], direction: [0, 0, -1], right: [1, 0, 0], up: [0, 1, 0], metresPerPixel: 0.02 });

/** A level sheet of points 10 cm apart at 5 m, one cell of 10 m, its origin away from zero. */
function sheetCloud(extra: readonly (readonly [number, number, number])[] = []): Cloud {
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

const sheet = (extra: readonly (readonly [number, number, number])[] = []): PickIndex => sortedIndex(sheetCloud(extra));

function sortedIndex(cloud: Cloud): PickIndex {
  const index = new PickIndex(cloud);
  index.sortWhile(() => true);
  return index;
}

/** Cells of 10 m side by side, two in a row, from points of each. */
function cloudOf(points: readonly (readonly (readonly [number, number, number])[])[]): Cloud {
  const cells = points.map((list, i) => {
    const [column, row] = [i % 2, Math.floor(i / 2)];
    const origin = [10 * column, 10 * row, 0] as const;
    return { column, row, origin, pointCount: list.length, positions: Float32Array.from(list.flatMap(([x, y, z]) => [x - origin[0], y - origin[1], z])), colours: null, intensity: null, classification: null };
  });
  return { grid: { origin: [0, 0], cellSize: 10, columns: 2, rows: Math.ceil(points.length / 2) }, cells, pointCount: points.flat().length, bounds: { min: [0, 0, 0], max: [20, 20, 8] } };
}

/** By the distance of every single point from the line. */
function nearByHand(cloud: Cloud, { origin, direction }: PickRay, reachM: number, depth: number | null): string[] {
  return cloud.cells.flatMap((cell, c) =>
    Array.from({ length: cell.pointCount }, (_, k) => k).filter((k) => {
      const from = [0, 1, 2].map((axis) => cell.origin[axis]! + cell.positions[3 * k + axis]! - origin[axis]!);
      const along = from.reduce((sum, value, axis) => sum + value * direction[axis]!, 0);
      const beside = Math.hypot(...from.map((value, axis) => value - along * direction[axis]!));
      return beside < reachM && (depth === null || Math.abs(along) < depth);
    }).map((k) => `${c} ${k}`));
}

describe('pickPoint', () => {
  test('finds in sorted cells what a look at every point finds, from any side', () => {
    const random = seededRandom(4).uniform;
    const cloud = cloudOf(Array.from({ length: 4 }, (_, cell) => Array.from({ length: 3000 }, () => [(cell % 2) * 10 + 10 * random(), Math.floor(cell / 2) * 10 + 10 * random(), 8 * random()] as const)));
    const index = sortedIndex(cloud);
    for (let i = 0; i < 60; i++) {
      const axes = freeAxes(360 * random(), 90 * random());
      const ray: PickRay = { origin: [20 * random(), 20 * random(), 4], direction: [-axes.toward[0], -axes.toward[1], -axes.toward[2]], right: axes.right, up: axes.up, metresPerPixel: 0.05 };
      const depth = i % 2 === 0 ? null : 6 * random();
      const offered = new Set<string>();
      index.forEachNear(ray, 6, depth, Infinity, (cell, k) => offered.add(`${cloud.cells.indexOf(cell)} ${k}`));
      for (const key of nearByHand(cloud, ray, 0.3, depth)) expect(offered).toContain(key);
      expect(offered.size).toBeLessThan(6000);
    }
  });

  test('while cells are not sorted, an even sample of them answers', () => {
    const index = new PickIndex(sheetCloud());
    expect(index.sortWhile(() => false)).toBe(true);
    const at = pickPoint(index, down(103.06, 204.04), 0.05, null)!;
    expect(Math.hypot(at[0] - 103.06, at[1] - 204.04)).toBeLessThan(0.12);
    expect(index.sortWhile(() => true)).toBe(false);
    expect(pickPoint(index, down(103.06, 204.04), 0.05, null)![0]).toBeCloseTo(103.05, 4);
  });

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

  test('points outside a clip box do not count', () => {
    const box = { min: [100, 200, 0], max: [102, 210, 20] } as const;
    expect(pickPoint(sheet(), down(101.06, 204.04), 0.05, null, box)).not.toBeNull();
    expect(pickPoint(sheet(), down(103.06, 204.04), 0.05, null, box)).toBeNull();
    expect(pickPoint(sheet(), down(101.06, 204.04), 0.05, null, { ...box, max: [102, 210, 4] })).toBeNull();
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
    expect(pointsToDraw(sheetCloud(), { ...view, centre: [300, 205, 5] }, null, 1e6, 1)).toEqual([0]);
    expect(pointsToDraw(sheetCloud(), view, { from: [0, 0], to: [0, 400], thicknessM: 0.5 }, 1e6, 1)).toEqual([0]);
  });
  test('no more than the budget, nor than the picture can show', () => {
    expect(pointsToDraw(sheetCloud(), view, null, 2500, 1)).toEqual([2500]);
    expect(pointsToDraw(sheetCloud(), { ...view, pixelsPerMetre: 4 }, null, 1e6, 1)).toEqual([1600]);
    expect(pointsToDraw(sheetCloud(), view, null, 1e6, 1)).toEqual([10_000]);
  });
});
