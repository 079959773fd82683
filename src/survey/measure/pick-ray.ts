import { add, dot, scale, subtract, type Vector3 } from '../../geometry/vector.ts';

/** A line of sight through a picture: what a pointer at one pixel looks along. All vectors unit, at right angles. */
export interface PickRay {
  /** A point on the line, in the local frame. [m] */
  readonly origin: Vector3;
  /** Away from the eye. */
  readonly direction: Vector3;
  /** Rightwards and upwards in the picture. */
  readonly right: Vector3;
  readonly up: Vector3;
  readonly metresPerPixel: number;
}

/** How far a point stands from the line of sight in the picture, and how deep along it. */
export function offsetFromRay(ray: PickRay, point: Vector3): { readonly pixels: number; readonly depthM: number } {
  const from = subtract(point, ray.origin);
  const pixels = Math.hypot(dot(from, ray.right), dot(from, ray.up)) / ray.metresPerPixel;
  return { pixels, depthM: dot(from, ray.direction) };
}

/** The point of a segment that stands nearest to the line of sight in the picture. */
export function nearestOnSegment(ray: PickRay, from: Vector3, to: Vector3): Vector3 {
  const start = subtract(from, ray.origin);
  const along = subtract(to, from);
  const [sx, sy] = [dot(start, ray.right), dot(start, ray.up)];
  const [ax, ay] = [dot(along, ray.right), dot(along, ray.up)];
  const lengthSquared = ax * ax + ay * ay;
  const share = lengthSquared > 0 ? Math.min(1, Math.max(0, -(sx * ax + sy * ay) / lengthSquared)) : 0;
  return add(from, scale(along, share));
}

/** Where the line of sight meets a plane; null when it runs along it. */
export function meetPlane(ray: PickRay, normal: Vector3, offset: number): Vector3 | null {
  const slant = dot(normal, ray.direction);
  if (Math.abs(slant) < 1e-6) return null;
  const share = -(dot(normal, ray.origin) + offset) / slant;
  return add(ray.origin, scale(ray.direction, share));
}
