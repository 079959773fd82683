import { cross, dot, type Vector3 } from '../../src/geometry/vector.ts';
import type { Truth, TruthPlane } from '../../src/survey/score/truth.ts';

/** Points farther from the true plane are strays or stand on it. [m] */
const ON_PLANE = 0.08;
/** Sides of two planes are one line when their middles lie this near. [m] */
const SHARED = 0.01;
const LEAST_AREA = 10;
const LEAST_SIDE = 3;

/** Height over plan: z = a x + b y + c. */
interface Fit {
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

/** A line in plan: p x + q y + r = 0. */
type Line = readonly [p: number, q: number, r: number];

/** What the noise alone does to an outline; see `outlinesOfKnownPoints`. */
export interface KnownOutline {
  /** Relative error of the area in plan; null below 10 m² and with holes. */
  readonly areaError: number | null;
  /** Mean distance beyond each true side of 3 m and more, positive outward. [m] */
  readonly sideOffsetsM: readonly number[];
  /** Of each corner, in the true plane. [m] */
  readonly cornerDistancesM: readonly number[];
  /** In plan, in the order of the true ring. */
  readonly corners: readonly (readonly [number, number])[];
}

/**
 * The outlines that planes would have if every point's plane were known, planes were fitted by least squares and met where
 * they cross, and outer sides were known exactly: what the noise alone does to areas and outlines. On steep roofs that is
 * nothing; between falls of two per cent a few millimetres of height move a valley by decimetres.
 *
 * @param positions  `n × 3`, source coordinates. [m]
 * @returns In the order of the true planes.
 */
export function outlinesOfKnownPoints(positions: Float64Array, { planes }: Truth): KnownOutline[] {
  const fits = planes.map((plane) => fitOf(positions, plane));
  return planes.map((plane, k) => {
    const { ring, normal } = plane;
    const sides = ring.map((from, i) => sideLine(from, ring[(i + 1) % ring.length]!, k, planes, fits));
    const corners = sides.map((side, i) => crossing(sides[(i + sides.length - 1) % sides.length]!, side));
    const whole = plane.slopeAreaM2 >= LEAST_AREA && plane.holes.length === 0;
    return {
      corners,
      areaError: whole ? ringArea(corners) / ringArea(ring) - 1 : null,
      sideOffsetsM: ring.flatMap((_, i) => sideOffset(ring, corners, i, normal)),
      cornerDistancesM: ring.map((corner, i) => Math.hypot(...lifted(corner, corners[i]!, normal))),
    };
  });
}

/** From a true corner to where a plan position lies on the true plane. */
function lifted([x, y]: Vector3, [u, v]: readonly [number, number], [a, b, c]: Vector3): Vector3 {
  return [u - x, v - y, -(a * (u - x) + b * (v - y)) / c];
}

/** Straight sides lie as far out in the mean as in their middle; nothing for a short side. */
function sideOffset(ring: readonly Vector3[], corners: readonly (readonly [number, number])[], i: number, normal: Vector3): number[] {
  const j = (i + 1) % ring.length;
  const [from, to] = [ring[i]!, ring[j]!];
  const along: Vector3 = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
  const length = Math.hypot(...along);
  if (length < LEAST_SIDE) return [];
  // Rings run counter-clockwise about the normal: along × normal points outward.
  const outward = cross(along, normal);
  const beyond = (at: Vector3): number => dot(at, outward) / length;
  return [(beyond(lifted(from, corners[i]!, normal)) + beyond(lifted(to, corners[j]!, normal))) / 2];
}

function fitOf(positions: Float64Array, { ring, normal }: TruthPlane): Fit {
  const [x0, y0, z0] = ring[0]!;
  let [n, x, y, z, xx, xy, yy, xz, yz] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = 0; i < positions.length; i += 3) {
    const [dx, dy, dz] = [positions[i]! - x0, positions[i + 1]! - y0, positions[i + 2]! - z0];
    if (Math.abs(normal[0] * dx + normal[1] * dy + normal[2] * dz) > ON_PLANE || !contains(ring, positions[i]!, positions[i + 1]!)) continue;
    n++;
    x += dx;
    y += dy;
    z += dz;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
    xz += dx * dz;
    yz += dy * dz;
  }
  const [sxx, sxy, syy, sxz, syz] = [xx - (x * x) / n, xy - (x * y) / n, yy - (y * y) / n, xz - (x * z) / n, yz - (y * z) / n];
  const det = sxx * syy - sxy * sxy;
  const a = (sxz * syy - syz * sxy) / det;
  const b = (syz * sxx - sxz * sxy) / det;
  return { a, b, c: (z - a * x - b * y) / n + z0 - a * x0 - b * y0 };
}

/** Where two fitted planes meet on a side they share; the true line on an outer one. */
function sideLine(from: Vector3, to: Vector3, k: number, planes: readonly TruthPlane[], fits: readonly Fit[]): Line {
  const middle: Vector3 = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2, (from[2] + to[2]) / 2];
  const other = planes.findIndex(({ ring }, j) => j !== k && ring.some((corner, i) => distanceToSide(middle, corner, ring[(i + 1) % ring.length]!) < SHARED));
  if (other < 0) return [to[1] - from[1], from[0] - to[0], from[1] * to[0] - from[0] * to[1]];
  const [own, beyond] = [fits[k]!, fits[other]!];
  return [own.a - beyond.a, own.b - beyond.b, own.c - beyond.c];
}

function distanceToSide(at: Vector3, from: Vector3, to: Vector3): number {
  const along = [0, 1, 2].map((axis) => to[axis]! - from[axis]!);
  const square = along.reduce((sum, part) => sum + part * part, 0);
  const share = along.reduce((sum, part, axis) => sum + part * (at[axis]! - from[axis]!), 0) / square;
  if (!(share >= 0 && share <= 1)) return Infinity;
  return Math.hypot(...along.map((part, axis) => from[axis]! + share * part - at[axis]!));
}

function crossing([a, b, c]: Line, [p, q, r]: Line): [number, number] {
  const det = a * q - b * p;
  return [(b * r - q * c) / det, (p * c - a * r) / det];
}

const ringArea = (ring: readonly (readonly number[])[]): number =>
  Math.abs(ring.reduce((sum, [x, y], i) => {
    const [x0, y0] = ring[0]!;
    const [u, v] = ring[(i + 1) % ring.length]!;
    return sum + (x! - x0!) * (v! - y0!) - (u! - x0!) * (y! - y0!);
  }, 0) / 2);

function contains(ring: readonly Vector3[], x: number, y: number): boolean {
  let inside = false;
  ring.forEach(([x0, y0], i) => {
    const [x1, y1] = ring[(i + 1) % ring.length]!;
    if (y0 > y !== y1 > y && x < ((x1 - x0) * (y - y0)) / (y1 - y0) + x0) inside = !inside;
  });
  return inside;
}
