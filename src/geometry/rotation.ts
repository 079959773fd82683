import { cos, sin } from './same-math.ts';
import { dot, scale, type Vector3 } from './vector.ts';

/** Rows of a rotation matrix. */
export type Rotation = readonly [Vector3, Vector3, Vector3];

/** Rotation by the length of a vector about its direction, right-handed (Rodrigues). [rad] */
export function rotationBy(vector: Vector3): Rotation {
  const angle = Math.hypot(...vector);
  if (angle === 0) return [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
  const [x, y, z] = scale(vector, 1 / angle);
  const [s, c] = [sin(angle), 1 - cos(angle)];
  return [
    [1 - c * (y * y + z * z), c * x * y - s * z, c * x * z + s * y],
    [c * x * y + s * z, 1 - c * (x * x + z * z), c * y * z - s * x],
    [c * x * z - s * y, c * y * z + s * x, 1 - c * (x * x + y * y)],
  ];
}

export const rotated = ([x, y, z]: Rotation, v: Vector3): Vector3 => [dot(x, v), dot(y, v), dot(z, v)];
