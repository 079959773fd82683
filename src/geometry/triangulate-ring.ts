import earcut from 'earcut';
import type { Vector3 } from './vector.ts';

/**
 * Cuts a flat ring with holes into triangles. Corners are never moved, so every triangle lies on the ring's own plane.
 * The cut is made in plan, which is right for any ring that is not vertical.
 *
 * @param rings  Outer ring first, then holes; first corner not repeated.
 * @returns All corners, ring after ring, and triangles as three indices into them, counter-clockwise from above.
 */
export function triangulateRing(rings: readonly (readonly Vector3[])[]): { readonly corners: readonly Vector3[]; readonly triangles: readonly number[] } {
  const corners = rings.flat();
  if (corners.length < 3) return { corners, triangles: [] };
  const [x0, y0] = corners[0]!;
  const flat: number[] = [];
  for (const [x, y] of corners) flat.push(x - x0, y - y0);
  const holes: number[] = [];
  let start = 0;
  for (const ring of rings.slice(0, -1)) {
    start += ring.length;
    holes.push(start);
  }
  const triangles = earcut(flat, holes, 2);
  for (let i = 0; i < triangles.length; i += 3) turnUp(triangles, i, flat);
  return { corners, triangles };
}

function turnUp(triangles: number[], i: number, flat: readonly number[]): void {
  const [a, b, c] = [triangles[i]! * 2, triangles[i + 1]! * 2, triangles[i + 2]! * 2];
  const twice = (flat[b]! - flat[a]!) * (flat[c + 1]! - flat[a + 1]!) - (flat[c]! - flat[a]!) * (flat[b + 1]! - flat[a + 1]!);
  if (twice < 0) [triangles[i + 1], triangles[i + 2]] = [triangles[i + 2]!, triangles[i + 1]!];
}
