import { cross, dot, type Vector3 } from '../../src/geometry/vector.ts';

/** Three rows. */
export type Matrix3 = readonly [Vector3, Vector3, Vector3];

export function multiply(a: Matrix3, b: Matrix3): Matrix3 {
  const column = (k: number): Vector3 => [b[0][k]!, b[1][k]!, b[2][k]!];
  const row = (r: Vector3): Vector3 => [dot(r, column(0)), dot(r, column(1)), dot(r, column(2))];
  return [row(a[0]), row(a[1]), row(a[2])];
}

/**
 * What a linear map makes of an area and its normal: the cofactors of the matrix times the unit normal, a vector along the new
 * normal whose length is the factor of the area (Nanson's formula).
 */
export function movedNormal([a, b, c]: Matrix3, n: Vector3): Vector3 {
  return [dot(cross(b, c), n), dot(cross(c, a), n), dot(cross(a, b), n)];
}

export const determinant = ([a, b, c]: Matrix3): number => dot(a, cross(b, c));
