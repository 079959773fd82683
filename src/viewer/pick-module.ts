import { ringContains } from '../geometry/polygon.ts';
import type { Vector3 } from '../geometry/vector.ts';
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
