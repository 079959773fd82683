import type { PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { meetShallowly, type FaceFit } from '../faces/fit-faces.ts';
import { heightVariance } from '../../../reading/plane-uncertainty.ts';

/** Two planes closer than this in slope have no intersection worth the name. [-] */
const PARALLEL = 1e-4;

/** Planes farther apart at their border, in sigmas of the noise, part with a step. */
const STEP_SIGMAS = 1.5;

/** Plan line where two planes have one height; null for parallel planes. */
export function intersectionLine(a: FaceFit, b: FaceFit): PlanLine | null {
  const gx = a.slopeX - b.slopeX;
  const gy = a.slopeY - b.slopeY;
  const steepness = Math.hypot(gx, gy);
  if (steepness < PARALLEL) return null;
  // Difference of heights at a's centroid; straight down the difference lies the line.
  const difference = a.elevation - (b.elevation + b.slopeX * (a.centroid[0] - b.centroid[0]) + b.slopeY * (a.centroid[1] - b.centroid[1]));
  const away = -difference / (steepness * steepness);
  return {
    at: [a.centroid[0] + away * gx, a.centroid[1] + away * gy],
    direction: [-gy / steepness, gx / steepness],
  };
}

/** Height of plane a above plane b at a plan position, one sigma of it [m], and how fast it changes [-]. */
export function heightDifference(a: FaceFit, b: FaceFit, at: Vector2): { difference: number; sigma: number; steepness: number } {
  return {
    difference: elevationAt(a, at) - elevationAt(b, at),
    sigma: Math.sqrt(heightVariance(a, at) + heightVariance(b, at)),
    steepness: Math.max(PARALLEL, Math.hypot(a.slopeX - b.slopeX, a.slopeY - b.slopeY)),
  };
}

export const elevationAt = (fit: FaceFit, [x, y]: Vector2): number =>
  fit.elevation + fit.slopeX * (x - fit.centroid[0]) + fit.slopeY * (y - fit.centroid[1]);

/** True where one plane runs on into another at a shallow angle, without a step. */
export const runsInto = (a: FaceFit, b: FaceFit, at: Vector2): boolean =>
  meetShallowly(a, b) && Math.abs(elevationAt(a, at) - elevationAt(b, at)) <= STEP_SIGMAS * Math.max(a.noise, b.noise);
