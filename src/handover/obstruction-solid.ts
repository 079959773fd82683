import { planeElevationAt } from '../geometry/plane.ts';
import { signedPlanArea } from '../geometry/polygon.ts';
import { triangulateRing } from '../geometry/triangulate-ring.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { Obstruction, RoofPlane } from '../roof/record.ts';

/** An obstruction of known height: foot on the roof plane, top, and the faces that show (sides and top). */
export interface ObstructionSolid {
  readonly foot: readonly Vector3[];
  readonly top: readonly Vector3[];
}

/**
 * Stands an obstruction on its plane. The top is level, at the height above the roof measured over the middle of the
 * footprint; where a level top would dip below the roof (something low on a steep plane) it runs parallel to the roof.
 *
 * @returns null when the height is unknown or not above the roof: then only the footprint can be drawn.
 */
export function obstructionSolid(thing: Obstruction, plane: RoofPlane): ObstructionSolid | null {
  const height = thing.heightAboveRoofM.value;
  if (height === null || !(height > 0) || thing.footprint.length < 3) return null;
  const ring = signedPlanArea(thing.footprint) < 0 ? thing.footprint.toReversed() : thing.footprint;
  const foot = ring.map((at): Vector3 => [at[0], at[1], planeElevationAt(plane, at)]);
  const level = planeElevationAt(plane, meanPosition(ring)) + height;
  const clears = foot.every((corner) => corner[2] < level - 1e-3);
  return { foot, top: foot.map(([x, y, z]): Vector3 => [x, y, clears ? level : z + height]) };
}

function meanPosition(ring: readonly Vector2[]): Vector2 {
  let [x, y] = [0, 0];
  for (const corner of ring) [x, y] = [x + corner[0], y + corner[1]];
  return [x / ring.length, y / ring.length];
}

/** Sides as four-cornered faces, outward; then the top as triangles. */
export function solidFaces({ foot, top }: ObstructionSolid): Vector3[][] {
  const sides = foot.map((corner, i) => {
    const next = (i + 1) % foot.length;
    return [corner, foot[next]!, top[next]!, top[i]!];
  });
  const { corners, triangles } = triangulateRing([top]);
  const tops: Vector3[][] = [];
  for (let i = 0; i < triangles.length; i += 3) tops.push([corners[triangles[i]!]!, corners[triangles[i + 1]!]!, corners[triangles[i + 2]!]!]);
  return [...sides, ...tops];
}
