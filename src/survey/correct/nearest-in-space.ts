import { add, dot, scale, subtract, type Vector3 } from '../../geometry/vector.ts';

/** The point of a segment nearest to a place. */
export function nearestOnSegmentInSpace(from: Vector3, to: Vector3, at: Vector3): Vector3 {
  const along = subtract(to, from);
  const lengthSquared = dot(along, along);
  const share = lengthSquared > 0 ? Math.min(1, Math.max(0, dot(subtract(at, from), along) / lengthSquared)) : 0;
  return add(from, scale(along, share));
}
