import { ringContains } from './polygon.ts';
import type { Vector2, Vector3 } from './vector.ts';

const STEPS = 24;

/**
 * A position well inside a ring with holes, where a label may stand: of a grid of 24 × 24 positions, the one farthest
 * from every side, made better by halving the grid about it. Always inside when the ring has area.
 *
 * @param rings  Outer ring first, then holes; plan positions.
 * @returns The position and its distance to the nearest side.
 */
export function interiorPosition(rings: readonly (readonly (Vector2 | Vector3)[])[]): { readonly at: Vector2; readonly clearance: number } {
  const outer = rings[0]!;
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of outer) {
    minX = Math.min(minX, x);
    maxX = Math.max(maxX, x);
    minY = Math.min(minY, y);
    maxY = Math.max(maxY, y);
  }
  let best: Vector2 = [(minX + maxX) / 2, (minY + maxY) / 2];
  let clearance = clearanceAt(rings, best);
  let [width, depth] = [maxX - minX, maxY - minY];
  for (let round = 0; round < 4; round++) {
    const [cx, cy] = best;
    for (let i = 1; i < STEPS; i++) {
      for (let j = 1; j < STEPS; j++) {
        const at: Vector2 = [cx + width * (i / STEPS - 0.5), cy + depth * (j / STEPS - 0.5)];
        const here = clearanceAt(rings, at);
        if (here > clearance) [best, clearance] = [at, here];
      }
    }
    width /= 6;
    depth /= 6;
  }
  return { at: best, clearance };
}

/** Distance to the nearest side, negative outside. */
function clearanceAt(rings: readonly (readonly (Vector2 | Vector3)[])[], at: Vector2): number {
  let inside = false;
  let nearest = Infinity;
  for (const ring of rings) {
    if (ringContains(ring, at)) inside = !inside;
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      nearest = Math.min(nearest, distanceSquaredToSegment(at, ring[j]!, ring[i]!));
    }
  }
  return (inside ? 1 : -1) * Math.sqrt(nearest);
}

function distanceSquaredToSegment([x, y]: Vector2, a: Vector2 | Vector3, b: Vector2 | Vector3): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const squared = dx * dx + dy * dy;
  const t = squared > 0 ? Math.min(1, Math.max(0, ((x - a[0]) * dx + (y - a[1]) * dy) / squared)) : 0;
  return (a[0] + t * dx - x) ** 2 + (a[1] + t * dy - y) ** 2;
}
