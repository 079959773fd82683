import { cross, dot, subtract, type Vector2, type Vector3 } from './vector.ts';

/** Signed area of a ring in plan, positive counter-clockwise; the first corner is not repeated. [m²] */
export function signedPlanArea(ring: readonly (Vector2 | Vector3)[]): number {
  if (ring.length < 3) return 0;
  // About the first corner, so that large coordinates lose no digits.
  const [x0, y0] = ring[0]!;
  let twice = 0;
  for (let i = 1; i + 1 < ring.length; i++) {
    const [ax, ay] = ring[i]!;
    const [bx, by] = ring[i + 1]!;
    twice += (ax - x0) * (by - y0) - (bx - x0) * (ay - y0);
  }
  return twice / 2;
}

/** Area of a flat ring in space, along its own surface (Newell's sum). [m²] */
export function surfaceArea(ring: readonly Vector3[]): number {
  if (ring.length < 3) return 0;
  const origin = ring[0]!;
  let sum: Vector3 = [0, 0, 0];
  for (let i = 1; i + 1 < ring.length; i++) {
    const c = cross(subtract(ring[i]!, origin), subtract(ring[i + 1]!, origin));
    sum = [sum[0] + c[0], sum[1] + c[1], sum[2] + c[2]];
  }
  return Math.sqrt(dot(sum, sum)) / 2;
}

/** True when a plan position lies inside a ring (even-odd rule; a position exactly on the ring may fall either way). */
export function ringContains(ring: readonly (Vector2 | Vector3)[], at: Vector2): boolean {
  const [x, y] = at;
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}
