import type { Vector3 } from '../../geometry/vector.ts';
import type { Building } from '../../roof/record.ts';
import { nearestOnSegmentInSpace } from './nearest-in-space.ts';

/** An edge this near to a path all along lies along it: half a thin wall, seen in plan. [m] */
const ALONG_M = 0.35;

/** Free edges of a building that run along a path, seen from above. */
export function edgesAlong({ edges }: Building, path: readonly Vector3[]): string[] {
  const flat = ([x, y]: Vector3): Vector3 => [x, y, 0];
  const away = (at: Vector3): number => {
    let best = Infinity;
    for (let i = 0; i + 1 < path.length; i++) {
      const near = nearestOnSegmentInSpace(flat(path[i]!), flat(path[i + 1]!), flat(at));
      best = Math.min(best, Math.hypot(near[0] - at[0], near[1] - at[1]));
    }
    return best;
  };
  const middle = (a: Vector3, b: Vector3): Vector3 => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, 0];
  return edges.filter(({ planes, from, to }) => planes.length === 1 && [from, middle(from, to), to].every((at) => away(at) < ALONG_M)).map(({ id }) => id);
}
