import type { Vector2 } from '../../geometry/vector.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { RoofMap } from './split-arcs.ts';

/**
 * How well a corner is known along a direction: the corner is where its lines cross, so each line's sideways scatter
 * moves it along the other.
 *
 * @param sigmas  One sigma of each piece's sideways position. [m]
 * @returns One sigma by vertex and direction. [m]
 */
export function cornerSigmas(map: RoofMap, solved: SolvedCorners, sigmas: readonly number[], step: number): (vertex: number, along: Vector2) => number {
  const information = map.vertices.map(() => [0, 0, 0]);
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i]) return;
    const weight = 1 / Math.max(1e-4, sigmas[i]!) ** 2;
    const [nx, ny] = [-piece.line.direction[1], piece.line.direction[0]];
    for (const v of new Set([solved.standsFor[piece.from]!, solved.standsFor[piece.to]!])) {
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
