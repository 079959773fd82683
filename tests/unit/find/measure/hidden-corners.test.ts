import { describe, expect, test } from 'vitest';
import type { Vector2 } from '../../../../src/geometry/vector.ts';
import type { FoundEdge } from '../../../../src/find/measure/edges/roof-edges.ts';
import { hiddenCorners, reachBeyond } from '../../../../src/find/measure/hidden-corners.ts';
import type { MeasuredRoof } from '../../../../src/find/measure/measure-building.ts';
import type { EdgeKind } from '../../../../src/roof/record.ts';

interface Side {
  readonly kind: EdgeKind;
  /** Whether its line was counted; a limit of points alone is no line. */
  readonly counted: boolean;
}
const EAVE: Side = { kind: 'eave', counted: true };
const ABUTMENT: Side = { kind: 'abutment', counted: true };
const SIGMA = 0.01;

const ringsOf = (face: number, outline: readonly Vector2[]): MeasuredRoof['rings'][number] => ({ face, outline, holes: [], pieces: [] });

/** One face round these corners, side i from corner i to the next. */
function roofOf(corners: readonly Vector2[], sides: readonly Side[]): Pick<MeasuredRoof, 'edges' | 'map' | 'solved' | 'rings'> {
  const edges = sides.map(({ kind }, i) => ({ kind, piece: i, vertices: [i, (i + 1) % corners.length], faces: [1], meets: false }) as unknown as FoundEdge);
  const pieces = sides.map(({ counted }) => ({ counted, sigma: SIGMA }));
  return { edges, map: { pieces } as unknown as MeasuredRoof['map'], solved: { positions: corners } as unknown as MeasuredRoof['solved'], rings: [ringsOf(1, corners)] };
}

/** 10 by 6 m, the north-east corner cut off 0.8 m along the north side and 0.6 m along the east side. */
const CUT: readonly Vector2[] = [[0, 0], [10, 0], [10, 5.4], [9.2, 6], [0, 6]];
const withCut = (cut: Side): ReturnType<typeof roofOf> => roofOf(CUT, [EAVE, EAVE, cut, EAVE, EAVE]);

describe('a corner that a crown hides', () => {
  test('its sides may go on to where they meet, the side that cuts it off may not', () => {
    const roof = withCut(ABUTMENT);
    const hidden = hiddenCorners(roof);
    expect(hidden).toHaveLength(1);
    expect(hidden[0]).toMatchObject({ face: 1, planArea: expect.closeTo(0.24, 9) });
    // Each reach and the other line's scatter at 95 %.
    const reaches = roof.edges.map((edge) => reachBeyond(hidden, edge));
    expect(reaches).toEqual([0, expect.closeTo(0.6 + 1.96 * SIGMA, 4), 0, expect.closeTo(0.8 + 1.96 * SIGMA, 4), 0]);
  });

  test('a limit of points that is no line hides one as well', () => {
    expect(hiddenCorners(withCut({ kind: 'unknown', counted: false }))).toHaveLength(1);
  });

  test('a hip between two planes goes on as far as either of them says', () => {
    const { edges, ...rest } = withCut(ABUTMENT);
    const hip = { ...edges[3]!, faces: [1, 2], meets: true } as FoundEdge;
    const hidden = hiddenCorners({ ...rest, edges: edges.map((edge, i) => (i === 3 ? hip : edge)) });
    const nearer = { face: 2, planArea: 0.1, ends: [{ side: hip, vertex: 3, reach: 0.3 }] };
    expect(reachBeyond([...hidden, nearer], hip)).toBeCloseTo(0.8 + 1.96 * SIGMA, 4);
  });
});

describe('no corner is hidden', () => {
  test('where a cover ends aslant, and can be counted', () => {
    expect(hiddenCorners(withCut(EAVE))).toEqual([]);
    expect(hiddenCorners(withCut({ kind: 'parapet', counted: true }))).toEqual([]);
  });

  test('where the sides run on beside each other, meet behind, or metres on', () => {
    // A gable wall between two parallel rakes.
    expect(hiddenCorners(roofOf([[0, 0], [10, 0], [10, 6], [0, 6]], [EAVE, ABUTMENT, EAVE, EAVE]))).toEqual([]);
    // A notch turns inward: its sides have met already.
    expect(hiddenCorners(roofOf([[0, 0], [10, 0], [9, 3], [10, 6], [0, 6]], [EAVE, EAVE, ABUTMENT, EAVE, EAVE]))).toEqual([]);
    expect(hiddenCorners(roofOf([[0, 0], [10, 0], [10, 2], [6, 6], [0, 6]], [EAVE, EAVE, ABUTMENT, EAVE, EAVE]))).toEqual([]);
  });

  test('where another face was seen beyond the cut, as beside the cheek of a dormer', () => {
    const roof = withCut(ABUTMENT);
    const dormer: readonly Vector2[] = [[10, 5.4], [10, 7], [9.2, 7], [9.2, 6]];
    expect(hiddenCorners({ ...roof, rings: [...roof.rings, ringsOf(2, dormer)] })).toEqual([]);
    // One that only comes near hides nothing and shows nothing.
    expect(hiddenCorners({ ...roof, rings: [...roof.rings, ringsOf(2, dormer.map(([x, y]): Vector2 => [x + 1, y]))] })).toHaveLength(1);
  });

  test('where a side beside the cut is no line', () => {
    expect(hiddenCorners(roofOf(CUT, [EAVE, { kind: 'unknown', counted: false }, ABUTMENT, EAVE, EAVE]))).toEqual([]);
  });
});
