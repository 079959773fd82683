import { expect, it } from 'vitest';
import { fromPlaneCoordinates, planeCoordinates, planToPlaneCoordinates, toPlaneCoordinates } from '../../../src/geometry/plane-coordinates.ts';
import { aroundLine, aroundPosition, grow, intersect, regionArea, regionContains, regionParts, shrinkSharp, strip, subtractRegion, unite, type Region } from '../../../src/geometry/region.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';

const square = (x: number, y: number, side: number): Region => [[[x, y], [x + side, y], [x + side, y + side], [x, y + side]]];

it('two squares that share a corner block: union 7, intersection 1, difference 3', () => {
  const [a, b] = [square(0, 0, 2), square(1, 1, 2)];
  expect(regionArea(unite(a, b))).toBeCloseTo(7, 9);
  expect(regionArea(intersect(a, b))).toBeCloseTo(1, 9);
  expect(regionArea(subtractRegion(a, b))).toBeCloseTo(3, 9);
  expect(unite()).toEqual([]);
  expect(intersect(a, square(5, 5, 1))).toEqual([]);
});

it('keeps millimetres: the clipping library would round to a centimetre unless told', () => {
  expect(regionArea(subtractRegion(square(0, 0, 1), square(0.9994, 0, 1)))).toBeCloseTo(0.9994, 6);
});

it('growing a square by 1 adds four sides and a disc; shrinking keeps corners sharp', () => {
  expect(regionArea(grow(square(0, 0, 2), 1))).toBeCloseTo(4 + 8 + Math.PI, 2);
  expect(regionArea(shrinkSharp(square(0, 0, 2), 0.5))).toBeCloseTo(1, 6);
  expect(regionArea(aroundLine([[0, 0], [3, 0]], 0.5))).toBeCloseTo(3 + Math.PI / 4, 2);
  expect(regionArea(strip([0, 0], [0, 4], 0.5))).toBeCloseTo(2, 9);
  // Circumscribed: no point of the disc is left out.
  expect(regionArea(aroundPosition([3, 3], 1))).toBeGreaterThan(Math.PI);
});

it('a hole belongs to the part it lies in, and is not inside', () => {
  const holed = subtractRegion(unite(square(0, 0, 4), square(10, 0, 1)), square(1, 1, 1));
  expect(regionParts(holed).map((part) => regionArea(part)).toSorted((a, b) => a - b)).toEqual([expect.closeTo(1, 9), expect.closeTo(15, 9)]);
  expect(regionContains(holed, [1.5, 1.5])).toBe(false);
  expect(regionContains(holed, [3, 3])).toBe(true);
});

it('flat coordinates of a slope: there and back, u level, v uphill, plan drop straight down', () => {
  const pitch = Math.PI / 6;
  const frame = planeCoordinates({ normal: [0, -Math.sin(pitch), Math.cos(pitch)], offset: -5 * Math.cos(pitch) }, [2, 0]);
  expect(frame.origin).toEqual([2, 0, expect.closeTo(5, 9)]);
  const at = fromPlaneCoordinates(frame, [3, 2]);
  expect(at).toEqual([expect.closeTo(5, 9), expect.closeTo(2 * Math.cos(pitch), 9), expect.closeTo(6, 9)]);
  expect(toPlaneCoordinates(frame, at)).toEqual([expect.closeTo(3, 9), expect.closeTo(2, 9)]);
  expect(planToPlaneCoordinates(frame, [5, 2 * Math.cos(pitch)])).toEqual([expect.closeTo(3, 9), expect.closeTo(2, 9)]);
  expect(() => planeCoordinates({ normal: [1, 0, 0], offset: 0 }, [0, 0])).toThrow(RangeError);
});

it('random draws repeat by seed, and look normal', () => {
  const [a, b] = [seededRandom(7), seededRandom(7)];
  const draws = Array.from({ length: 4000 }, () => a.normal());
  expect(Array.from({ length: 4000 }, () => b.normal())).toEqual(draws);
  const mean = draws.reduce((sum, x) => sum + x, 0) / 4000;
  // Four sigmas of the mean and of the variance of 4000 draws.
  expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(4000));
  expect(Math.abs(draws.reduce((sum, x) => sum + x * x, 0) / 4000 - 1)).toBeLessThan(4 * Math.sqrt(2 / 4000));
});
