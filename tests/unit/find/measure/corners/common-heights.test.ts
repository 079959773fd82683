import { describe, expect, it } from 'vitest';
import { commonHeights } from '../../../../../src/find/measure/corners/common-heights.ts';
import { elevationAt } from '../../../../../src/find/measure/borders/intersections.ts';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import type { Piece, RoofMap } from '../../../../../src/find/measure/borders/split-arcs.ts';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';

const corners: Vector2[] = [[0, 0], [4, 0], [0, 4], [-4, 0]];
/** Three triangles round the first corner. */
const pieces = [[0, 1], [1, 2], [2, 0], [2, 3], [3, 0], [3, 1]].map(([from, to]) => ({ from, to }) as Piece);
const forward = (...list: number[]) => list.map((piece) => ({ piece, forward: true }));
const map: RoofMap = {
  vertices: corners.map((at) => ({ at })), pieces,
  rings: [
    { face: 1, pieces: forward(0, 1, 2) },
    { face: 2, pieces: [{ piece: 2, forward: false }, ...forward(3, 4)] },
    { face: 3, pieces: [{ piece: 4, forward: false }, ...forward(5), { piece: 0, forward: false }] },
  ],
};
const solved = { positions: corners, standsFor: Int32Array.from(corners.keys()), vanished: new Uint8Array(pieces.length) };
const fit = (elevation: number, sigma: number): FaceFit =>
  ({ centroid: [0, 0], elevation, slopeX: 0.1, slopeY: 0, covariance: [sigma ** 2, 0, 0, 0, 0, 0, 0, 0, 0], noise: 0.01 }) as unknown as FaceFit;

describe('heights of corners in common', () => {
  it('are one number for planes that differ by what they err, nearer to the surer one', () => {
    const fits = [fit(5, 0.001), fit(5.02, 0.003), fit(5.01, 0.003)];
    const height = commonHeights(map, solved, fits);
    const common = height(1, corners[0]!);
    expect(height(2, corners[0]!)).toBe(common);
    expect(height(3, corners[0]!)).toBe(common);
    // Weights 9 : 1 : 1.
    expect(common).toBeCloseTo((9 * 5 + 5.02 + 5.01) / 11, 9);
    expect(height(2, corners[2]!)).toBe(height(1, corners[2]!));
  });

  it('a plane that ends above the others keeps its own', () => {
    const fits = [fit(5, 0.002), fit(5.02, 0.002), fit(5.6, 0.002)];
    const height = commonHeights(map, solved, fits);
    expect(height(3, corners[0]!)).toBe(elevationAt(fits[2]!, corners[0]!));
    expect(height(1, corners[0]!)).toBeCloseTo(5.01, 9);
    expect(height(2, corners[0]!)).toBe(height(1, corners[0]!));
  });
});
