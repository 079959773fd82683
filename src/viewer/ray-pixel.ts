import { dot, subtract, type Vector2, type Vector3 } from '../geometry/vector.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';

/** Where a point stands in the picture, counted from the pointer. [px] */
export function rayPixel(ray: PickRay, point: Vector3): Vector2 {
  const from = subtract(point, ray.origin);
  return [dot(from, ray.right) / ray.metresPerPixel, dot(from, ray.up) / ray.metresPerPixel];
}
