import { describe, expect, it } from 'vitest';
import { surfaceArea } from '../../../src/geometry/polygon.ts';
import { triangulateRing } from '../../../src/geometry/triangulate-ring.ts';
import type { Vector3 } from '../../../src/geometry/vector.ts';

const lift = (x: number, y: number): Vector3 => [x, y, 0.75 * x];
const square: Vector3[] = [lift(0, 0), lift(4, 0), lift(4, 4), lift(0, 4)];
const hole: Vector3[] = [lift(1, 1), lift(1, 2), lift(2, 2), lift(2, 1)];

function areaOf(rings: readonly (readonly Vector3[])[]): number {
  const { corners, triangles } = triangulateRing(rings);
  let area = 0;
  for (let i = 0; i < triangles.length; i += 3) area += surfaceArea([corners[triangles[i]!]!, corners[triangles[i + 1]!]!, corners[triangles[i + 2]!]!]);
  return area;
}

describe('triangulateRing', () => {
  it('covers the ring less its hole, along the surface', () => {
    // A slope of 3 in 4 makes every plan area 5/4 as large.
    expect(areaOf([square])).toBeCloseTo(20, 12);
    expect(areaOf([square, hole])).toBeCloseTo(18.75, 12);
  });

  it('turns every triangle up, whichever way the ring runs', () => {
    for (const rings of [[square, hole], [[...square].reverse(), [...hole].reverse()]]) {
      const { corners, triangles } = triangulateRing(rings);
      for (let i = 0; i < triangles.length; i += 3) {
        const [a, b, c] = [corners[triangles[i]!]!, corners[triangles[i + 1]!]!, corners[triangles[i + 2]!]!];
        expect((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])).toBeGreaterThan(0);
      }
    }
  });

  it('is as good at seven-digit coordinates', () => {
    const far = square.map(([x, y, z]): Vector3 => [x + 1_748_735.5, y + 5_427_916.25, z]);
    expect(areaOf([far])).toBeCloseTo(20, 6);
  });

  it('makes nothing of nothing', () => {
    expect(triangulateRing([[]]).triangles).toEqual([]);
    expect(triangulateRing([[[0, 0, 0], [1, 0, 0]]]).triangles).toEqual([]);
    expect(triangulateRing([[[0, 0, 0], [1, 0, 0], [2, 0, 0]]]).triangles).toEqual([]);
  });
});
