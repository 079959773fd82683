import { describe, expect, it } from 'vitest';
import { mendRings } from '../../../../../src/find/measure/borders/mend-rings.ts';
import { cellCentre, type RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import type { SolvedCorners } from '../../../../../src/find/measure/corners/solve-corners.ts';
import type { Piece, RoofMap } from '../../../../../src/find/measure/borders/split-arcs.ts';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';

const square: Vector2[] = [[1, 1], [5, 1], [5, 5], [1, 5]];

const squareMap = (): RoofMap => mapOf(square);

function mapOf(ring: readonly Vector2[]): RoofMap {
  const pieces = ring.map((a, i): Piece => {
    const b = ring[(i + 1) % ring.length]!;
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const direction: Vector2 = [(b[0] - a[0]) / size, (b[1] - a[1]) / size];
    return { left: 1, right: 0, from: i, to: (i + 1) % ring.length, line: { at: a, direction }, meets: true, counted: false, byRaster: false, drawn: false, cells: 40, sigma: 0.01, sigmaAngle: 0.001, bias: 0, gone: false };
  });
  return { vertices: ring.map((at) => ({ at })), pieces, rings: [{ face: 1, pieces: pieces.map((_, piece) => ({ piece, forward: true })) }] };
}

/** Only what mending looks at: the faces of the cells. */
function squareRaster(): RoofRaster {
  const frame = { origin: [0, 0] as const, step: 0.1, columns: 60, rows: 60 };
  const face = Uint16Array.from({ length: 3600 }, (_, k) => (cellCentre(frame, k).every((c) => c > 1 && c < 5) ? 1 : 0));
  return { ...frame, face } as unknown as RoofRaster;
}

const solvedAt = (positions: readonly Vector2[]): SolvedCorners => ({ positions, standsFor: Int32Array.from(positions.keys()), vanished: new Uint8Array(positions.length) });

describe('outlines that do not fit together', () => {
  it('an outline like its cells is left alone', () => {
    expect(mendRings(squareMap(), solvedAt(square), squareRaster())).toBe(0);
  });

  it('an outline that crosses itself gets the raster back on the crossing sides', () => {
    const map = squareMap();
    // Two corners so far astray that a side runs through another; the area is about that of the cells.
    expect(mendRings(map, solvedAt([[1, 1], [5, 1], [0.5, 6], [5.5, 6.5]]), squareRaster())).toBeGreaterThanOrEqual(2);
    const mended = map.pieces.filter(({ byRaster }) => byRaster);
    expect(mended.every(({ meets, sigma }) => !meets && sigma >= 0.01)).toBe(true);
  });

  it('an outline that crosses itself still is redrawn all round', () => {
    // The side from (5, 5) runs through the one that ends in (1, 5.3); the area is that of the cells all the same.
    const ring: Vector2[] = [[1, 1], [5, 1], [5, 5], [1.5, 5.05], [2, 4.9], [1, 5.3]];
    const map = mapOf(ring);
    expect(mendRings(map, solvedAt(ring), squareRaster())).toBe(2);
    expect(mendRings(map, solvedAt(ring), squareRaster())).toBe(4);
    expect(mendRings(map, solvedAt(ring), squareRaster())).toBe(0);
  });

  it('a face shrunk to half its cells is redrawn all round, once', () => {
    const map = squareMap();
    const half = solvedAt([[1, 1], [5, 1], [5, 3], [1, 3]]);
    expect(mendRings(map, half, squareRaster())).toBe(4);
    expect(mendRings(map, half, squareRaster())).toBe(0);
  });
});
