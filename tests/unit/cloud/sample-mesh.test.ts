import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../src/cloud/mesh.ts';
import { defaultMeshSpacing, meshArea, sampleMesh } from '../../../src/cloud/sample-mesh.ts';

const mesh = (positions: readonly number[], triangles: readonly number[], colours: readonly number[] | null = null): Mesh => ({
  positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), colours: colours && Uint8Array.from(colours), textureCoordinates: null, pictures: [], pictureOf: null,
});

/** A square roof of 10 m with a slope in x, cut into 2·n² triangles, far from zero. */
function slope(n: number, rise: number): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i <= n; i++) for (let j = 0; j <= n; j++) positions.push(770000 + (10 * i) / n, 6277000 + (10 * j) / n, 20 + (rise * 10 * i) / n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const a = i * (n + 1) + j;
      triangles.push(a, a + n + 1, a + n + 2, a, a + n + 2, a + 1);
    }
  }
  return mesh(positions, triangles);
}

const sortedTriples = (positions: Float64Array): string[] => Array.from({ length: positions.length / 3 }, (_, i) => positions.slice(3 * i, 3 * i + 3).join(' ')).sort();

describe('points laid on a mesh', () => {
  it('puts one point in every square of the lattice', () => {
    const { pointCount, positions } = sampleMesh(slope(1, 0.5), 0.1);
    expect(pointCount).toBe(100 * 100);
    const squares = new Set<string>();
    for (let i = 0; i < positions.length; i += 3) squares.add(`${Math.floor(positions[i]! / 0.1)} ${Math.floor(positions[i + 1]! / 0.1)}`);
    expect(squares.size).toBe(pointCount);
  });

  it('lays every point on the surface to the last digits of its coordinates', () => {
    const { positions } = sampleMesh(slope(7, 0.5), 0.13);
    for (let i = 0; i < positions.length; i += 3) expect(Math.abs(positions[i + 2]! - (20 + 0.5 * (positions[i]! - 770000)))).toBeLessThan(1e-8);
  });

  it('lays the same count however fine the triangles are', () => {
    const counts = [1, 3, 10, 97, 300].map((n) => sampleMesh(slope(n, 0.5), 0.1).pointCount);
    // A position on a common side may fall to neither triangle or to both by rounding: none was seen to.
    expect(counts).toEqual([10_000, 10_000, 10_000, 10_000, 10_000]);
  });

  it('does not depend on the order of triangles or on their first corner', () => {
    const straight = slope(5, 0.3);
    const corners = Array.from({ length: straight.triangles.length / 3 }, (_, t) => [...straight.triangles.subarray(3 * t, 3 * t + 3)]);
    const mixed = mesh([...straight.positions], corners.reverse().flat());
    expect(sortedTriples(sampleMesh(mixed, 0.1).positions)).toEqual(sortedTriples(sampleMesh(straight, 0.1).positions));
  });

  it('covers walls as densely as roofs', () => {
    const east = mesh([3, 0, 0, 3, 10, 0, 3, 10, 10, 3, 0, 10], [0, 1, 2, 0, 2, 3]);
    const north = mesh([0, 3, 0, 10, 3, 0, 10, 3, 10, 0, 3, 10], [0, 1, 2, 0, 2, 3]);
    expect(sampleMesh(east, 0.1).pointCount).toBe(10_000);
    expect(sampleMesh(north, 0.1).pointCount).toBe(10_000);
  });

  it('thins by the cosine of the pitch at most: 60° to the side of nearest axis', () => {
    // 10 m of run at 45° is 14.14 m of slope; seen from above it has 10 000 squares of 0.1 m.
    const found = sampleMesh(slope(1, 1), 0.1).pointCount;
    expect(found).toBeGreaterThanOrEqual(Math.floor((1000 * 1000 * Math.SQRT2) / 100 / Math.sqrt(3)));
    expect(found).toBeLessThanOrEqual(Math.ceil(meshArea(slope(1, 1)) / 0.01));
  });

  it('blends the colours of the corners', () => {
    const { colours, positions } = sampleMesh(mesh([0, 0, 0, 10, 0, 0, 0, 10, 0], [0, 1, 2], [0, 0, 0, 250, 0, 0, 0, 250, 0]), 0.5);
    for (let i = 0; i < positions.length; i += 3) {
      expect(Math.abs(colours![i]! - 25 * positions[i]!)).toBeLessThanOrEqual(0.5 + 1e-9);
      expect(Math.abs(colours![i + 1]! - 25 * positions[i + 1]!)).toBeLessThanOrEqual(0.5 + 1e-9);
    }
  });

  it('steps over triangles without area or with a corner that is no number', () => {
    expect(sampleMesh(mesh([0, 0, 0, 1, 1, 1, 2, 2, 2], [0, 1, 2, 0, 0, 1]), 0.1).pointCount).toBe(0);
    expect(sampleMesh(mesh([0, 0, 0, NaN, 1, 1, 2, 2, 2], [0, 1, 2]), 0.1).pointCount).toBe(0);
    expect(() => sampleMesh(slope(1, 0), 0)).toThrow(RangeError);
  });
});

describe('what a mesh tells of itself', () => {
  it('has the area of its triangles: a cube of side 1 has 6', () => {
    const cube = mesh([0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0, 0, 0, 1, 1, 0, 1, 1, 1, 1, 0, 1, 1], [0, 2, 1, 0, 3, 2, 4, 5, 6, 4, 6, 7, 0, 1, 5, 0, 5, 4, 2, 3, 7, 2, 7, 6, 1, 2, 6, 1, 6, 5, 0, 4, 7, 0, 7, 3]);
    expect(meshArea(cube)).toBeCloseTo(6, 12);
  });

  it('is sampled at half its mean edge, from 2 to 10 cm', () => {
    // 10 m over 100 squares: edges 0.1, 0.1 and 0.141 m, mean 0.114, half 0.057.
    expect(defaultMeshSpacing(slope(100, 0), 1)).toBe(0.057);
    expect(defaultMeshSpacing(slope(1, 0), 1)).toBe(0.1);
    // The same numbers in feet are finer: 0.017 m, held at 2 cm.
    expect(defaultMeshSpacing(slope(100, 0), 0.3048)).toBe(0.02);
  });

  it('is sampled more coarsely when it is too large to be sampled finely', () => {
    const square = mesh([0, 0, 0, 1000, 0, 0, 1000, 1000, 0, 0, 1000, 0], [0, 1, 2, 0, 2, 3]);
    // Two triangles: 300 000 points on a square kilometre are 1.83 m apart. 20 000 and more triangles: two million, 0.71 m.
    expect(defaultMeshSpacing(square, 1)).toBe(1.8);
    const fine = slope(120, 0);
    fine.positions.forEach((value, i) => (fine.positions[i] = 100 * value));
    expect(defaultMeshSpacing(fine, 1)).toBe(0.71);
  });
});
