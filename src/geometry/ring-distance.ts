import type { Vector2, Vector3 } from './vector.ts';

/** Distance in plan of a position from the nearest side of a ring, inside or out; the first corner is not repeated. [m] */
export function distanceToRing(ring: readonly (Vector2 | Vector3)[], [x, y]: Vector2): number {
  let best = Infinity;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [ax, ay] = ring[j]!;
    const [bx, by] = ring[i]!;
    const [dx, dy] = [bx - ax, by - ay];
    const lengthSquared = dx * dx + dy * dy;
    const share = lengthSquared > 0 ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / lengthSquared)) : 0;
    best = Math.min(best, Math.hypot(ax + share * dx - x, ay + share * dy - y));
  }
  return best;
}
