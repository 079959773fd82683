import type { Plane } from './plane.ts';
import { cross, dot, type Vector2, type Vector3 } from './vector.ts';

/**
 * Flat coordinates on a plane, in metres along its surface: `u` runs level, to the right of someone facing up the slope;
 * `v` runs straight up the slope. On a level plane u is east and v is north. Turning direction is kept: a ring that is
 * counter-clockwise from above is so in u and v.
 */
export interface PlaneCoordinates {
  readonly origin: Vector3;
  readonly u: Vector3;
  readonly v: Vector3;
  readonly normal: Vector3;
  /** Plan length of one metre along v: the cosine of the pitch. */
  readonly planPerSlope: number;
}

/** Below this sine of the pitch the level direction is not defined by the plane, and east is taken. */
const LEVEL = 1e-6;

/** @param near  A position near the work; the origin is put on the plane straight above or below it. */
export function planeCoordinates(plane: Plane, near: Vector2): PlaneCoordinates {
  const [a, b, c] = plane.normal;
  if (!(c > 1e-6)) throw new RangeError('Expected a plane with an upward normal that is not vertical.');
  const horizontal = Math.hypot(a, b);
  // Up the slope in plan is against the horizontal part of the normal.
  const u: Vector3 = horizontal < LEVEL ? [1, 0, 0] : [-b / horizontal, a / horizontal, 0];
  const normal = plane.normal;
  const v = cross(normal, u);
  return { origin: [near[0], near[1], -(a * near[0] + b * near[1] + plane.offset) / c], u, v, normal, planPerSlope: c };
}

/** Position along the surface of a point, dropped onto the plane along its normal. */
export function toPlaneCoordinates(frame: PlaneCoordinates, at: Vector3): Vector2 {
  const [ox, oy, oz] = frame.origin;
  const fromOrigin: Vector3 = [at[0] - ox, at[1] - oy, at[2] - oz];
  return [dot(fromOrigin, frame.u), dot(fromOrigin, frame.v)];
}

/** Position along the surface straight above or below a plan position. */
export function planToPlaneCoordinates(frame: PlaneCoordinates, at: Vector2): Vector2 {
  const [ox, oy] = frame.origin;
  const [a, b, c] = frame.normal;
  const x = at[0] - ox;
  const y = at[1] - oy;
  return toPlaneCoordinates(frame, [at[0], at[1], frame.origin[2] - (a * x + b * y) / c]);
}

/** Point in space at a position along the surface, `height` along the normal above it. */
export function fromPlaneCoordinates(frame: PlaneCoordinates, [u, v]: Vector2, height = 0): Vector3 {
  const { origin, normal } = frame;
  return [
    origin[0] + u * frame.u[0] + v * frame.v[0] + height * normal[0],
    origin[1] + u * frame.u[1] + v * frame.v[1] + height * normal[1],
    origin[2] + u * frame.u[2] + v * frame.v[2] + height * normal[2],
  ];
}
