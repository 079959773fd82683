import { ringContains } from '../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';

const STEPS = 14;

type Ring = readonly (Vector2 | Vector3)[];

/**
 * The place inside a ring, seen from above, with the most room round it: best of an even grid, then once refined.
 * Good enough for lettering; not meant for measuring.
 */
export function roomiestPlace(outline: readonly Vector3[], holes: readonly Ring[]): { at: Vector2; room: number } {
  const rings = [outline, ...holes];
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of outline) {
    [minX, minY] = [Math.min(minX, x), Math.min(minY, y)];
    [maxX, maxY] = [Math.max(maxX, x), Math.max(maxY, y)];
  }
  let best = { at: [(minX + maxX) / 2, (minY + maxY) / 2] as Vector2, room: 0 };
  const search = (x0: number, y0: number, width: number, height: number): void => {
    for (let i = 0; i <= STEPS; i++) {
      for (let j = 0; j <= STEPS; j++) {
        const at: Vector2 = [x0 + (width * i) / STEPS, y0 + (height * j) / STEPS];
        if (!ringContains(outline, at) || holes.some((hole) => ringContains(hole, at))) continue;
        const room = distanceToRings(at, rings);
        if (room > best.room) best = { at, room };
      }
    }
  };
  search(minX, minY, maxX - minX, maxY - minY);
  const [cellX, cellY] = [(maxX - minX) / STEPS, (maxY - minY) / STEPS];
  search(best.at[0] - cellX, best.at[1] - cellY, 2 * cellX, 2 * cellY);
  return best;
}

function distanceToRings(at: Vector2, rings: readonly Ring[]): number {
  let nearest = Infinity;
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i++) nearest = Math.min(nearest, distanceToSide(at, ring[i]!, ring[(i + 1) % ring.length]!));
  }
  return nearest;
}

function distanceToSide([x, y]: Vector2, a: Vector2 | Vector3, b: Vector2 | Vector3): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const lengthSquared = dx * dx + dy * dy;
  const share = lengthSquared > 0 ? Math.min(1, Math.max(0, ((x - a[0]) * dx + (y - a[1]) * dy) / lengthSquared)) : 0;
  return Math.hypot(x - a[0] - share * dx, y - a[1] - share * dy);
}
