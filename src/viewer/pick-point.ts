import type { Cell } from '../cloud/cloud.ts';
import { dot, type Vector3 } from '../geometry/vector.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';
import { isInside, type ClipBox } from './clip-box.ts';
import type { PickIndex } from './pick-index.ts';

/** Points this near to the pointer are looked at. [px] */
const REACH_PIXELS = 6;
/** Of more points than this near the pointer an even sample is looked at: they lie closer than a pixel. */
const MOST_LOOKED_AT = 16_000;
/** A surface is a depth bin with at least this many of the points looked at; less is a stray. */
const SURFACE_SHARE = 0.25;

/**
 * The measured point the pointer looks at: of the points near the line of sight, those at the first depth where many
 * lie (not the very nearest, which may float), and of these the one nearest to the pointer.
 *
 * @param thickness  Only points within this depth of the picture's centre count, for a section; null for all. [m]
 * @param binM  Thickness of one surface: a few times the noise. [m]
 * @param clip  Points outside do not count.
 */
export function pickPoint(index: PickIndex, ray: PickRay, binM: number, thickness: number | null, clip: ClipBox | null = null): Vector3 | null {
  const near = pointsNear(index, ray, REACH_PIXELS, thickness, clip);
  if (near.length === 0) return null;
  const depths = new Float64Array(near.length / 5);
  for (let i = 0; i < depths.length; i++) depths[i] = near[5 * i + 4]!;
  const front = frontSurface(depths, binM);
  let best = -1;
  for (let i = 0; i < depths.length; i++) {
    if (depths[i]! < front || depths[i]! > front + binM) continue;
    if (best < 0 || near[5 * i + 3]! < near[5 * best + 3]!) best = i;
  }
  return best < 0 ? null : [near[5 * best]!, near[5 * best + 1]!, near[5 * best + 2]!];
}

/**
 * Measured points about the line of sight within a reach and a depth, for drawing; an even share of them where there
 * are more than `most`.
 */
export function pointsAbout(index: PickIndex, ray: PickRay, reachPixels: number, thickness: number, most: number): Vector3[] {
  const near = pointsNear(index, ray, reachPixels, thickness, null);
  const stride = Math.max(1, Math.ceil(near.length / 5 / most));
  const points: Vector3[] = [];
  for (let i = 0; i < near.length; i += 5 * stride) points.push([near[i]!, near[i + 1]!, near[i + 2]!]);
  return points;
}

/** Start of the first depth bin that holds a fair share of the fullest one. */
function frontSurface(depths: Float64Array, binM: number): number {
  const sorted = depths.toSorted();
  let fullest = 0;
  const counts = new Uint32Array(sorted.length);
  for (let i = 0, j = 0; i < sorted.length; i++) {
    while (j < sorted.length && sorted[j]! <= sorted[i]! + binM) j++;
    counts[i] = j - i;
    fullest = Math.max(fullest, j - i);
  }
  return sorted[counts.findIndex((count) => count >= fullest * SURFACE_SHARE)]!;
}

/** Room for what is found near a line of sight, used again for each: five numbers a point. */
let found = new Float64Array(5 * MOST_LOOKED_AT);

/** x, y, z, distance squared from the line of sight [m²] and depth of the points near it; good until the next call. */
function pointsNear(index: PickIndex, ray: PickRay, reachPixels: number, thickness: number | null, clip: ClipBox | null): Float64Array {
  let count = 0;
  const [[rx, ry, rz], [ux, uy, uz], [dx, dy, dz]] = [ray.right, ray.up, ray.direction];
  const reachSquared = (reachPixels * ray.metresPerPixel) ** 2;
  let current: Cell | null = null;
  let [r0, u0, d0] = [0, 0, 0];
  index.forEachNear(ray, reachPixels, thickness === null ? null : thickness / 2, MOST_LOOKED_AT, (cell, i) => {
    if (cell !== current) {
      current = cell;
      const shift: Vector3 = [cell.origin[0] - ray.origin[0], cell.origin[1] - ray.origin[1], cell.origin[2] - ray.origin[2]];
      [r0, u0, d0] = [dot(shift, ray.right), dot(shift, ray.up), dot(shift, ray.direction)];
    }
    const { positions, origin } = cell;
    const [x, y, z] = [positions[3 * i]!, positions[3 * i + 1]!, positions[3 * i + 2]!];
    const across = r0 + rx * x + ry * y + rz * z;
    const above = u0 + ux * x + uy * y + uz * z;
    const distanceSquared = across * across + above * above;
    if (distanceSquared > reachSquared) return;
    if (clip && !isInside(clip, origin[0] + x, origin[1] + y, origin[2] + z)) return;
    const depth = d0 + dx * x + dy * y + dz * z;
    if (thickness !== null && Math.abs(depth) > thickness / 2) return;
    // A share of every column is rounded up, which may be more than was asked for.
    if (5 * count + 5 > found.length) found = grown(found);
    found[5 * count] = origin[0] + x;
    found[5 * count + 1] = origin[1] + y;
    found[5 * count + 2] = origin[2] + z;
    found[5 * count + 3] = distanceSquared;
    found[5 * count + 4] = depth;
    count++;
  });
  return found.subarray(0, 5 * count);
}

function grown(values: Float64Array<ArrayBuffer>): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(2 * values.length);
  larger.set(values);
  return larger;
}
