import { describe, expect, it } from 'vitest';
import { crossingPieces, partedCorners } from '../../../../../src/find/measure/borders/crossing-pieces.ts';
import type { Piece, RoofMap } from '../../../../../src/find/measure/borders/split-arcs.ts';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';

/** Two squares side by side, one above a wider gap, as the raster saw them. */
const corners: Vector2[] = [[0, 0], [4, 0], [4, 4], [0, 4], [4.2, 0], [8, 0], [8, 4], [4.2, 4]];
const sides = [[0, 1], [1, 2], [2, 3], [3, 0], [4, 5], [5, 6], [6, 7], [7, 4]] as const;
const map: RoofMap = { vertices: corners.map((at) => ({ at })), pieces: sides.map(([from, to], i) => ({ left: i < 4 ? 1 : 2, right: 0, from, to }) as Piece), rings: [] };
const placed = (positions: readonly Vector2[]) => ({ positions, standsFor: Int32Array.from(positions.keys()), vanished: new Uint8Array(sides.length) });

describe('pieces that cross', () => {
  it('none do where the raster saw them', () => {
    expect(crossingPieces(map, placed(corners))).toEqual([]);
    expect(partedCorners(map, placed(corners))).toEqual(corners);
  });

  it('a corner that reaches into the neighbouring face is found and put back, others are left where they were measured', () => {
    const strayed = corners.map((at, i): Vector2 => (i === 2 ? [5, 3.5] : i === 5 ? [8.01, 0] : at));
    expect(crossingPieces(map, placed(strayed)).length).toBeGreaterThan(0);
    const parted = partedCorners(map, placed(strayed));
    expect(crossingPieces(map, placed(parted))).toEqual([]);
    expect(parted[2]).toEqual(corners[2]);
    expect(parted[5]).toEqual([8.01, 0]);
  });

  it('ends that meet do not cross', () => {
    const touching = corners.map((at, i): Vector2 => (i === 4 ? [4, 0] : i === 7 ? [4, 4] : at));
    expect(crossingPieces(map, placed(touching))).toEqual([]);
  });
});
