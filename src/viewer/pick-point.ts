import type { Cell, Cloud } from '../cloud/cloud.ts';
import { dot, type Vector3 } from '../geometry/vector.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';

/** Points this near to the pointer are looked at. [px] */
const REACH_PIXELS = 6;
/** A surface is a depth bin with at least this many of the points looked at; less is a stray. */
const SURFACE_SHARE = 0.25;

/**
 * The measured point the pointer looks at: of the points near the line of sight, those at the first depth where many
 * lie (not the very nearest, which may float), and of these the one nearest to the pointer.
 *
 * @param thickness  Only points within this depth of the picture's centre count, for a section; null for all. [m]
 * @param binM  Thickness of one surface: a few times the noise. [m]
 */
export function pickPoint(cloud: Cloud, ray: PickRay, binM: number, thickness: number | null): Vector3 | null {
  const found: number[] = [];
  for (const cell of cloud.cells) {
    if (passes(cell, cloud, ray, REACH_PIXELS)) scanCell(cell, ray, REACH_PIXELS, thickness, found);
  }
  if (found.length === 0) return null;
  const depths = new Float64Array(found.length / 5);
  for (let i = 0; i < depths.length; i++) depths[i] = found[5 * i + 4]!;
  const front = frontSurface(depths, binM);
  let best = -1;
  for (let i = 0; i < depths.length; i++) {
    if (depths[i]! < front || depths[i]! > front + binM) continue;
    if (best < 0 || found[5 * i + 3]! < found[5 * best + 3]!) best = i;
  }
  return best < 0 ? null : [found[5 * best]!, found[5 * best + 1]!, found[5 * best + 2]!];
}

/**
 * Measured points about the line of sight within a reach and a depth, for drawing; an even share of them where there
 * are more than `most`.
 */
export function pointsAbout(cloud: Cloud, ray: PickRay, reachPixels: number, thickness: number, most: number): Vector3[] {
  const found: number[] = [];
  for (const cell of cloud.cells) {
    if (passes(cell, cloud, ray, reachPixels)) scanCell(cell, ray, reachPixels, thickness, found);
  }
  const stride = Math.max(1, Math.ceil(found.length / 5 / most));
  const points: Vector3[] = [];
  for (let i = 0; i < found.length; i += 5 * stride) points.push([found[i]!, found[i + 1]!, found[i + 2]!]);
  return points;
}

/** Start of the first depth bin that holds a fair share of the fullest one. */
function frontSurface(depths: Float64Array, binM: number): number {
  const sorted = depths.toSorted();
  let fullest = 0;
  const counts: number[] = [];
  for (let i = 0, j = 0; i < sorted.length; i++) {
    while (j < sorted.length && sorted[j]! <= sorted[i]! + binM) j++;
    counts.push(j - i);
    fullest = Math.max(fullest, j - i);
  }
  return sorted[counts.findIndex((count) => count >= fullest * SURFACE_SHARE)]!;
}

/** A cell may hold candidates when the line of sight passes its box, widened by the reach. */
function passes(cell: Cell, cloud: Cloud, ray: PickRay, reachPixels: number): boolean {
  const { origin, cellSize } = cloud.grid;
  const reach = reachPixels * ray.metresPerPixel;
  const low = [origin[0] + cell.column * cellSize, origin[1] + cell.row * cellSize, cloud.bounds.min[2]];
  const high = [low[0]! + cellSize, low[1]! + cellSize, cloud.bounds.max[2]];
  let [enter, leave] = [-Infinity, Infinity];
  for (let axis = 0; axis < 3; axis++) {
    const [from, along] = [ray.origin[axis]!, ray.direction[axis]!];
    const [a, b] = [low[axis]! - reach, high[axis]! + reach];
    if (Math.abs(along) < 1e-9) {
      if (from < a || from > b) return false;
      continue;
    }
    enter = Math.max(enter, Math.min((a - from) / along, (b - from) / along));
    leave = Math.min(leave, Math.max((a - from) / along, (b - from) / along));
  }
  return enter <= leave;
}

/** Appends x, y, z, distance squared from the line of sight [m²] and depth of every point near it. */
function scanCell(cell: Cell, ray: PickRay, reachPixels: number, thickness: number | null, found: number[]): void {
  const { positions, origin } = cell;
  const shift: Vector3 = [origin[0] - ray.origin[0], origin[1] - ray.origin[1], origin[2] - ray.origin[2]];
  const [r0, u0, d0] = [dot(shift, ray.right), dot(shift, ray.up), dot(shift, ray.direction)];
  const [[rx, ry, rz], [ux, uy, uz], [dx, dy, dz]] = [ray.right, ray.up, ray.direction];
  const reachSquared = (reachPixels * ray.metresPerPixel) ** 2;
  for (let i = 0; i < positions.length; i += 3) {
    const [x, y, z] = [positions[i]!, positions[i + 1]!, positions[i + 2]!];
    const across = r0 + rx * x + ry * y + rz * z;
    const above = u0 + ux * x + uy * y + uz * z;
    const distanceSquared = across * across + above * above;
    if (distanceSquared > reachSquared) continue;
    const depth = d0 + dx * x + dy * y + dz * z;
    if (thickness !== null && Math.abs(depth) > thickness / 2) continue;
    found.push(origin[0] + x, origin[1] + y, origin[2] + z, distanceSquared, depth);
  }
}
