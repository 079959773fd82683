import type { Vector2 } from '../../geometry/vector.ts';
import type { FaceFit } from './fit-faces.ts';
import { heightDifference } from './intersections.ts';

/** One sigma of an intersection's sideways position at a place: height noise of both planes over how fast they part. [m] */
export function intersectionSigma(left: FaceFit, right: FaceFit, at: Vector2): number {
  const { sigma, steepness } = heightDifference(left, right, at);
  return sigma / steepness;
}

/** One sigma of a raster line's position: its rim cells each scatter by about a third of a cell, in clumps of some four. [m] */
export const rasterSigma = (cells: number, step: number): number => step * (0.05 + 0.66 / Math.sqrt(Math.max(1, cells)));
