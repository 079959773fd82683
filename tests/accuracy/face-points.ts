import type { Cloud } from '../../src/cloud/cloud.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../src/geometry/fit-moments.ts';
import { ringContains } from '../../src/geometry/polygon.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';

/** Edge of the squares points are gathered in. [m] */
const SQUARE = 2;
/** Points this near a published plane are the face's. [m] */
export const ON_FACE = 0.25;
/** No point this near a plane is cut off. [m] */
const LEAST_TRIM = 0.03;
const ROUNDS = 8;

/** Points in plan squares, to be asked for by rings. */
export type PointIndex = ReadonlyMap<string, readonly Vector3[]>;

export interface FittedPlane {
  readonly normal: Vector3;
  /** Centre of gravity of the points. */
  readonly middle: Vector3;
  /** [m] */
  readonly rms: number;
  readonly points: readonly Vector3[];
}

export function indexPoints({ cells }: Cloud): PointIndex {
  const index = new Map<string, Vector3[]>();
  for (const { origin, positions, pointCount } of cells) {
    for (let i = 0; i < pointCount; i++) {
      const point: Vector3 = [positions[3 * i]! + origin[0], positions[3 * i + 1]! + origin[1], positions[3 * i + 2]! + origin[2]];
      const key = keyOf(Math.floor(point[0] / SQUARE), Math.floor(point[1] / SQUARE));
      const square = index.get(key);
      if (square) square.push(point);
      else index.set(key, [point]);
    }
  }
  return index;
}

const keyOf = (column: number, row: number): string => `${column},${row}`;

/** Points within rings that do not overlap, in plan. */
export function pointsWithin(index: PointIndex, rings: readonly (readonly Vector3[])[]): Vector3[] {
  return rings.flatMap((ring) => {
    const [xs, ys] = [0, 1].map((k) => ring.map((p) => p[k]!)) as [number[], number[]];
    return pointsInBox(index, [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)]).filter(([x, y]) => ringContains(ring, [x, y]));
  });
}

export function pointsInBox(index: PointIndex, [left, bottom, right, top]: readonly [number, number, number, number]): Vector3[] {
  const found: Vector3[] = [];
  for (let column = Math.floor(left / SQUARE); column <= Math.floor(right / SQUARE); column++) {
    for (let row = Math.floor(bottom / SQUARE); row <= Math.floor(top / SQUARE); row++) {
      for (const p of index.get(keyOf(column, row)) ?? []) if (p[0] >= left && p[0] <= right && p[1] >= bottom && p[1] <= top) found.push(p);
    }
  }
  return found;
}

export const heightAbove = ({ normal, middle }: Pick<FittedPlane, 'normal' | 'middle'>, p: Vector3): number =>
  normal[0] * (p[0] - middle[0]) + normal[1] * (p[1] - middle[1]) + normal[2] * (p[2] - middle[2]);

/** Plain orthogonal least squares; null below four points. */
export function planeThrough(points: readonly Vector3[]): FittedPlane | null {
  if (points.length < 4) return null;
  const [x0, y0, z0] = points[0]!;
  const moments = new Float64Array(10);
  for (const [x, y, z] of points) {
    const [u, v, w] = [x - x0, y - y0, z - z0];
    [1, u, v, w, u * u, u * v, u * w, v * v, v * w, w * w].forEach((value, k) => (moments[k]! += value));
  }
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(moments, fit);
  const n = moments[0]!;
  return { normal: [fit[0]!, fit[1]!, fit[2]!], middle: [x0 + moments[1]! / n, y0 + moments[2]! / n, z0 + moments[3]! / n], rms: Math.sqrt(fit[3]!), points };
}

/** Least squares of the points within `reach` of a plane. [m] */
export const planeNear = (points: readonly Vector3[], plane: Pick<FittedPlane, 'normal' | 'middle'>, reach = ON_FACE): FittedPlane | null =>
  planeThrough(points.filter((p) => Math.abs(heightAbove(plane, p)) <= reach));

/**
 * Least squares again and again without the points beyond three times the rms of the last round: what stands on a roof, its
 * gutters and its walls are within 25 cm of it too.
 */
export function trimmedPlane(points: readonly Vector3[], start: Pick<FittedPlane, 'normal' | 'middle'>): FittedPlane | null {
  let plane = planeNear(points, start);
  for (let round = 1; round < ROUNDS && plane; round++) plane = planeNear(points, plane, Math.max(LEAST_TRIM, 3 * plane.rms)) ?? plane;
  return plane;
}
