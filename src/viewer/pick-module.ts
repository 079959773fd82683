import { ringContains } from '../geometry/polygon.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { RoofPlane } from '../roof/record.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';
import type { FittingModule } from './ink/fitting-lines.ts';
import { project, type Projection } from './projection.ts';

/** The module under a place in the picture, the nearest to the eye; null where none is. */
export function moduleUnder(modules: readonly FittingModule[], view: Projection, x: number, y: number): FittingModule | null {
  let found: FittingModule | null = null;
  let nearest = -Infinity;
  for (const module of modules) {
    const ring = module.corners.map((corner) => project(view, corner));
    if (!ringContains(ring.map(([a, b]): readonly [number, number] => [a, b]), [x, y])) continue;
    const depth = ring.reduce((sum, [, , z]) => sum + z, 0) / ring.length;
    if (depth > nearest) [found, nearest] = [module, depth];
  }
  return found;
}

/** Where the line of sight through a place meets a plane; null where it runs along it. */
export function placeOnPlane({ normal, offset }: { readonly normal: Vector3; readonly offset: number }, origin: Vector3, direction: Vector3): Vector3 | null {
  const across = normal[0] * direction[0] + normal[1] * direction[1] + normal[2] * direction[2];
  if (Math.abs(across) < 1e-6) return null;
  const t = -(normal[0] * origin[0] + normal[1] * origin[1] + normal[2] * origin[2] + offset) / across;
  return [origin[0] + t * direction[0], origin[1] + t * direction[1], origin[2] + t * direction[2]];
}

/** The roof plane a line of sight meets first, and where; null where it meets none. */
export function planeAlong(planes: readonly RoofPlane[], { origin, direction }: PickRay): { readonly plane: RoofPlane; readonly at: Vector3 } | null {
  let found: { plane: RoofPlane; at: Vector3 } | null = null;
  let nearest = Infinity;
  for (const plane of planes) {
    const at = placeOnPlane(plane, origin, direction);
    if (!at || !ringContains(plane.outline, [at[0], at[1]]) || plane.holes.some((hole) => ringContains(hole, [at[0], at[1]]))) continue;
    const away = direction[0] * (at[0] - origin[0]) + direction[1] * (at[1] - origin[1]) + direction[2] * (at[2] - origin[2]);
    if (away < nearest) [found, nearest] = [{ plane, at }, away];
  }
  return found;
}
