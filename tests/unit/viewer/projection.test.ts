import { describe, expect, test } from 'vitest';
import { dot, type Vector3 } from '../../../src/geometry/vector.ts';
import { fitPoints, freeAxes, panBy, planAxes, project, rayAt, sectionAxes, unproject, zoomAt, type Projection } from '../../../src/viewer/projection.ts';

const plan: Projection = { ...planAxes(0), centre: [0, 0, 0], pixelsPerMetre: 100, width: 800, height: 600 };
const views: readonly (readonly [string, Projection])[] = [
  ['plan', plan],
  ['plan, north turned', { ...plan, ...planAxes(12) }],
  ['free', { ...plan, ...freeAxes(150, 38) }],
  ['elevation', { ...plan, ...freeAxes(180, 0) }],
  ['section', { ...plan, ...sectionAxes([0, 0, 0], [3, 4, 0]) }],
];

describe.each(views)('%s', (_, view) => {
  test('axes are unit, at right angles and right-handed', () => {
    const { right, up, toward } = view;
    for (const axis of [right, up, toward]) expect(dot(axis, axis)).toBeCloseTo(1, 12);
    expect(dot(right, up)).toBeCloseTo(0, 12);
    const [x, y, z] = [right[1] * up[2] - right[2] * up[1], right[2] * up[0] - right[0] * up[2], right[0] * up[1] - right[1] * up[0]];
    expect([x, y, z].map((v, i) => v - toward[i]!).every((d) => Math.abs(d) < 1e-12)).toBe(true);
  });

  test('the point under the pointer stays under it while zooming, and moves with it while panning', () => {
    const held = unproject(view, 620, 130);
    const [zx, zy] = project(zoomAt(view, 2.7, 620, 130), held);
    expect([zx, zy].map((v) => Math.round(v * 1e6) / 1e6)).toEqual([620, 130]);
    const [px, py] = project(panBy(view, 30, -12), held);
    expect([px, py].map((v) => Math.round(v * 1e6) / 1e6)).toEqual([650, 118]);
  });

  test('a ray through a point passes it', () => {
    const point: Vector3 = [1.2, -0.7, 0.9];
    const [x, y] = project(view, point);
    const { origin, right, up } = rayAt(view, x, y);
    const from = [point[0] - origin[0], point[1] - origin[1], point[2] - origin[2]] as const;
    expect(dot(from, right)).toBeCloseTo(0, 9);
    expect(dot(from, up)).toBeCloseTo(0, 9);
  });

  test('fitting leaves the margins free and the content in the middle of what is left', () => {
    const margins = { left: 100, right: 50, top: 80, bottom: 120 };
    const points: Vector3[] = [[10, 20, 3], [16, 20, 3], [16, 29, 8], [10, 29, 8], [13, 22, 5]];
    const fitted = fitPoints(view, points, margins);
    const dots = points.map((point) => project(fitted, point));
    const [xs, ys] = [dots.map(([x]) => x), dots.map(([, y]) => y)];
    expect(Math.min(...xs)).toBeGreaterThanOrEqual(100 - 1e-6);
    expect(Math.max(...xs)).toBeLessThanOrEqual(750 + 1e-6);
    expect(Math.min(...ys)).toBeGreaterThanOrEqual(80 - 1e-6);
    expect(Math.max(...ys)).toBeLessThanOrEqual(480 + 1e-6);
    expect((Math.min(...xs) + Math.max(...xs)) / 2).toBeCloseTo(425, 6);
    expect((Math.min(...ys) + Math.max(...ys)) / 2).toBeCloseTo(280, 6);
  });
});

test('in plan true north is up: with the grid turned by 90° the grid east points up', () => {
  const [x, y] = project({ ...plan, ...planAxes(-90) }, [1, 0, 0]);
  expect([Math.round(x), Math.round(y)]).toEqual([400, 200]);
});

test('from the south, east is right and height is up', () => {
  const [x, y, depth] = project({ ...plan, ...freeAxes(180, 0) }, [1, -2, 3]);
  expect([x, y, depth].map((v) => Math.round(v * 1e6) / 1e6)).toEqual([500, 0, 2]);
});

test('in a low picture margins give way to what is shown', () => {
  const low: Projection = { ...plan, width: 390, height: 110 };
  const corners: Vector3[] = [[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]];
  const fitted = fitPoints(low, corners, { left: 34, right: 34, top: 56, bottom: 82 });
  const heights = corners.map((corner) => project(fitted, corner)[1]);
  expect(Math.min(...heights)).toBeGreaterThanOrEqual(0);
  expect(Math.max(...heights)).toBeLessThanOrEqual(110);
  expect(Math.max(...heights) - Math.min(...heights)).toBeGreaterThan(0.5 * 110);
});
