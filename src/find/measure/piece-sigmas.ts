import { onLine } from '../../geometry/plan-line.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import type { FaceFit } from './fit-faces.ts';
import { heightDifference } from './intersections.ts';
import type { Piece } from './split-arcs.ts';

/** One sigma of an intersection's sideways position at a place: height noise of both planes over how fast they part. [m] */
export function intersectionSigma(left: FaceFit, right: FaceFit, at: Vector2): number {
  const { sigma, steepness } = heightDifference(left, right, at);
  return sigma / steepness;
}

/** One sigma of a raster line's position: its rim cells each scatter by about a third of a cell, in clumps of some four. [m] */
export const rasterSigma = (piece: Piece, step: number): number => step * (0.05 + 0.66 / Math.sqrt(Math.max(1, piece.cells)));

/** Middle of a piece's line, from its ends as the raster has them. */
export function middleOf(piece: Piece, from: Vector2, to: Vector2): Vector2 {
  const { at, direction } = piece.line;
  const along = ((from[0] + to[0]) / 2 - at[0]) * direction[0] + ((from[1] + to[1]) / 2 - at[1]) * direction[1];
  return onLine(piece.line, along);
}
