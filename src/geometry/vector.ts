/** x, y, z. */
export type Vector3 = readonly [number, number, number];
/** x, y. */
export type Vector2 = readonly [number, number];

export const dot = (a: Vector3, b: Vector3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const subtract = (a: Vector3, b: Vector3): Vector3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const add = (a: Vector3, b: Vector3): Vector3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const scale = (a: Vector3, factor: number): Vector3 => [a[0] * factor, a[1] * factor, a[2] * factor];
export const cross = (a: Vector3, b: Vector3): Vector3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
export const length = (a: Vector3): number => Math.hypot(a[0], a[1], a[2]);

/** @throws RangeError for the zero vector. */
export function normalize(a: Vector3): Vector3 {
  const size = length(a);
  if (!(size > 0)) throw new RangeError('A vector without length has no direction.');
  return scale(a, 1 / size);
}
