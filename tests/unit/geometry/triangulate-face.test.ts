import { describe, expect, it } from 'vitest';
import { eachStripTriangle } from '../../../src/geometry/triangle-strip.ts';
import { triangulateFace } from '../../../src/geometry/triangulate-face.ts';

type Point = readonly [number, number, number];

/** Area vector and sum of triangle areas: equal in size when no triangle lies outside or upside down. */
function cut(corners: readonly Point[]): { count: number; vector: number[]; sum: number } {
  const positions = Float64Array.from(corners.flat());
  const vector = [0, 0, 0];
  let [sum, count] = [0, 0];
  triangulateFace(positions, corners.map((_, i) => i), corners.length, (a, b, c) => {
    const [u, v] = [b, c].map((end) => [0, 1, 2].map((axis) => positions[3 * end + axis]! - positions[3 * a + axis]!)) as [number[], number[]];
    const cross = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
    cross.forEach((value, axis) => (vector[axis]! += value / 2));
    sum += Math.hypot(...cross) / 2;
    count++;
  });
  return { count, vector, sum };
}

const L: readonly (readonly [number, number])[] = [[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]];

describe('faces cut into triangles', () => {
  it.each([
    ['level', ([x, y]: readonly [number, number]): Point => [x, y, 7], [0, 0, 3]],
    ['upside down', ([x, y]: readonly [number, number]): Point => [y, x, 7], [0, 0, -3]],
    ['an east wall', ([x, y]: readonly [number, number]): Point => [5, x, y], [3, 0, 0]],
    ['a south wall', ([x, y]: readonly [number, number]): Point => [x, 5, y], [0, -3, 0]],
    ['a 45° slope', ([x, y]: readonly [number, number]): Point => [x, y, y], [0, -3, 3]],
    ['far from zero', ([x, y]: readonly [number, number]): Point => [770622 + x, 6277546 + y, 20], [0, 0, 3]],
  ])('an L keeps its area and its direction: %s', (_, place, expected) => {
    for (let start = 0; start < L.length; start++) {
      const { count, vector, sum } = cut([...L.slice(start), ...L.slice(0, start)].map(place));
      expect(count).toBe(4);
      vector.forEach((value, axis) => expect(value).toBeCloseTo(expected[axis]!, 9));
      expect(sum).toBeCloseTo(Math.hypot(...expected), 9);
    }
  });

  it('a convex face is a fan, and fewer than three corners are nothing', () => {
    expect(cut([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])).toMatchObject({ count: 2, sum: 1 });
    expect(cut([[0, 0, 0], [1, 0, 0]]).count).toBe(0);
  });
});

describe('strips of triangles', () => {
  it('turn every second triangle and leave out those without area', () => {
    const found: number[][] = [];
    eachStripTriangle([0, 1, 2, 3, 3, 4, -1, 5, 6, 7], 10, (...triangle) => found.push(triangle));
    expect(found).toEqual([[0, 1, 2], [2, 1, 3], [5, 6, 7]]);
  });
});
