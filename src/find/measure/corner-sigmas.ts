import { alongLine } from '../../geometry/plan-line.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { RoofMap } from './split-arcs.ts';

/**
 * How well a corner is known along a direction: the corner is where its lines cross, so each line's sideways scatter
 * moves it along the other.
 *
 * @returns One sigma by vertex and direction. [m]
 */
export function cornerSigmas(map: RoofMap, solved: SolvedCorners, step: number): (vertex: number, along: Vector2) => number {
  const information = map.vertices.map(() => [0, 0, 0]);
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i]) return;
    const [nx, ny] = [-piece.line.direction[1], piece.line.direction[0]];
    for (const v of new Set([solved.standsFor[piece.from]!, solved.standsFor[piece.to]!])) {
      const weight = 1 / (piece.sigma ** 2 + (piece.sigmaAngle * alongLine(piece.line, solved.positions[v]!)) ** 2 + 1e-8);
      information[v]![0]! += weight * nx * nx;
      information[v]![1]! += weight * nx * ny;
      information[v]![2]! += weight * ny * ny;
    }
  });
  // The raster itself places a corner to a cell or so.
  const prior = 1 / (1.5 * step) ** 2;
  return (vertex, [dx, dy]) => {
    const [a, b, c] = information[solved.standsFor[vertex]!]!;
    const [xx, xy, yy] = [a! + prior, b!, c! + prior];
    const determinant = xx * yy - xy * xy;
    return Math.sqrt(Math.max(0, (dx * dx * yy - 2 * dx * dy * xy + dy * dy * xx) / determinant));
  };
}
