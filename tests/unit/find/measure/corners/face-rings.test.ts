import { describe, expect, it } from 'vitest';
import { faceRings, ringsPlanArea } from '../../../../../src/find/measure/corners/face-rings.ts';
import type { SolvedCorners } from '../../../../../src/find/measure/corners/solve-corners.ts';
import type { Piece, RoofMap } from '../../../../../src/find/measure/borders/split-arcs.ts';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';

/** One ring of one face through the given corners; equal corners are one vertex. */
function ringOf(corners: readonly Vector2[]): [RoofMap, SolvedCorners] {
  const keys = corners.map(String);
  const vertex = keys.map((key) => keys.indexOf(key));
  const pieces = corners.map((_, i) => ({ left: 1, right: 0, from: vertex[i]!, to: vertex[(i + 1) % corners.length]! }) as Piece);
  const map: RoofMap = { vertices: corners.map((at) => ({ at })), pieces, rings: [{ face: 1, pieces: pieces.map((_, piece) => ({ piece, forward: true })) }] };
  return [map, { positions: corners, standsFor: Int32Array.from(corners.keys()), vanished: new Uint8Array(corners.length) }];
}

const rings = (corners: readonly Vector2[]) => faceRings(...ringOf(corners))[0]!;

describe('rings that come back to a corner', () => {
  const square: Vector2[] = [[0, 0], [4, 0], [4, 4], [0, 4]];

  it('a spike without width is left out', () => {
    const found = rings([[0, 0], [4, 0], [4, 4], [2, 4], [2, 2], [2, 4], [0, 4]]);
    expect(found.outline).toEqual([[0, 0], [4, 0], [4, 4], [2, 4], [0, 4]]);
    expect(found.holes).toEqual([]);
  });

  it('what it goes round the other way is a hole that touches the rim, wherever the ring begins', () => {
    const ring: Vector2[] = [[0, 0], [1, 2], [2, 1], [0, 0], [4, 0], [4, 4], [0, 4]];
    for (let turn = 0; turn < ring.length; turn++) {
      const found = rings([...ring.slice(turn), ...ring.slice(0, turn)]);
      expect(found.outline).toHaveLength(4);
      expect(found.holes).toHaveLength(1);
      expect(ringsPlanArea(found)).toBeCloseTo(16 - 1.5, 12);
    }
  });

  it('two parts that touch in a corner keep both areas', () => {
    const found = rings([...square, [0, 0], [-2, 0], [-2, -2], [0, -2]]);
    expect(ringsPlanArea(found)).toBeCloseTo(20, 12);
  });
});
