import { onLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { heightDifference } from './intersections.ts';

/**
 * Scatter of an intersection: height noise of both planes over how fast they part. The line is given back with its `at` where
 * it is known best, so that its sideways and angular errors are independent of each other.
 *
 * @param length  Over which the line is wanted. [m]
 */
export function intersectionScatter(left: FaceFit, right: FaceFit, line: PlanLine, length: number): { line: PlanLine; sigma: number; sigmaAngle: number } {
  const half = length / 2;
  const { steepness } = heightDifference(left, right, line.at);
  const varianceAt = (t: number): number => heightDifference(left, right, onLine(line, t)).sigma ** 2 / steepness ** 2;
  // A parabola along the line: middle, slope and bend from three places.
  const [before, middle, after] = [varianceAt(-half), varianceAt(0), varianceAt(half)];
  const bend = Math.max(0, (before + after - 2 * middle) / (2 * half * half));
  const slope = (after - before) / (2 * half);
  const best = bend > 0 ? Math.max(-length, Math.min(length, -slope / (2 * bend))) : 0;
  return {
    line: { at: onLine(line, best), direction: line.direction },
    sigma: Math.sqrt(Math.max(0, middle + slope * best + bend * best * best)),
    sigmaAngle: Math.sqrt(bend),
  };
}

/** One sigma of a raster line's position: its rim cells each scatter by about a third of a cell, in clumps of some four. [m] */
export const rasterSigma = (cells: number, step: number): number => step * (0.05 + 0.66 / Math.sqrt(Math.max(1, cells)));
