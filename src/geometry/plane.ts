import { dot, type Vector2, type Vector3 } from './vector.ts';

/** `normal · p + offset = 0`, unit normal. */
export interface Plane {
  readonly normal: Vector3;
  /** [m] */
  readonly offset: number;
}

/** Signed distance of a point along the normal. [m] */
export const distanceToPlane = (plane: Plane, point: Vector3): number => dot(plane.normal, point) + plane.offset;

/**
 * Height of a plane above a plan position.
 *
 * @throws RangeError on a vertical plane (|normal z| < 1e-9).
 */
export function planeElevationAt(plane: Plane, at: Vector2): number {
  const [a, b, c] = plane.normal;
  if (Math.abs(c) < 1e-9) throw new RangeError('A vertical plane has no height above a plan position.');
  return -(a * at[0] + b * at[1] + plane.offset) / c;
}
