import earcut from 'earcut';

/**
 * Cuts a face with any number of corners, in any position in space, into triangles that turn the same way as the face.
 * A convex face becomes a fan about its first corner; another one is cut by ears in the plane of its largest shadow.
 *
 * @param positions  x, y, z of all vertices, `n × 3`.
 * @param corners  Vertex numbers of the face. @param count  How many of them count.
 * @param push  Gets the three vertex numbers of each triangle.
 */
export function triangulateFace(
  positions: Float64Array,
  corners: ArrayLike<number>,
  count: number,
  push: (a: number, b: number, c: number) => void,
): void {
  if (count < 3) return;
  if (count === 3) {
    push(corners[0]!, corners[1]!, corners[2]!);
    return;
  }
  const normal = newellNormal(positions, corners, count);
  if (isConvex(positions, corners, count, normal)) {
    for (let i = 1; i + 1 < count; i++) push(corners[0]!, corners[i]!, corners[i + 1]!);
  } else {
    cutEars(positions, corners, count, normal, push);
  }
}

type Triple = [number, number, number];

/** Twice the area vector, summed about the first corner so that large coordinates lose no digits. */
function newellNormal(positions: Float64Array, corners: ArrayLike<number>, count: number): Triple {
  const sum: Triple = [0, 0, 0];
  for (let i = 1; i + 1 < count; i++) addCross(sum, positions, corners[0]!, corners[i]!, corners[i + 1]!);
  return sum;
}

function addCross(sum: Triple, positions: Float64Array, a: number, b: number, c: number): void {
  const ux = positions[3 * b]! - positions[3 * a]!;
  const uy = positions[3 * b + 1]! - positions[3 * a + 1]!;
  const uz = positions[3 * b + 2]! - positions[3 * a + 2]!;
  const vx = positions[3 * c]! - positions[3 * a]!;
  const vy = positions[3 * c + 1]! - positions[3 * a + 1]!;
  const vz = positions[3 * c + 2]! - positions[3 * a + 2]!;
  sum[0] += uy * vz - uz * vy;
  sum[1] += uz * vx - ux * vz;
  sum[2] += ux * vy - uy * vx;
}

/** True when every corner turns the way the face does and the fan's triangles do too (a star fails the second). */
function isConvex(positions: Float64Array, corners: ArrayLike<number>, count: number, normal: Triple): boolean {
  for (let i = 0; i < count; i++) {
    const turn: Triple = [0, 0, 0];
    addCross(turn, positions, corners[i]!, corners[(i + 1) % count]!, corners[(i + 2) % count]!);
    if (turn[0] * normal[0] + turn[1] * normal[1] + turn[2] * normal[2] < 0) return false;
  }
  for (let i = 1; i + 1 < count; i++) {
    const turn: Triple = [0, 0, 0];
    addCross(turn, positions, corners[0]!, corners[i]!, corners[i + 1]!);
    if (turn[0] * normal[0] + turn[1] * normal[1] + turn[2] * normal[2] < 0) return false;
  }
  return true;
}

function cutEars(positions: Float64Array, corners: ArrayLike<number>, count: number, normal: Triple, push: (a: number, b: number, c: number) => void): void {
  const [nx, ny, nz] = normal.map(Math.abs) as Triple;
  // The two axes of the largest shadow, in the order that keeps the turning direction for a positive normal.
  const [u, v, sign] = nx >= ny && nx >= nz ? [1, 2, normal[0]] : ny >= nz ? [2, 0, normal[1]] : [0, 1, normal[2]];
  const flat: number[] = [];
  for (let i = 0; i < count; i++) {
    flat.push(positions[3 * corners[i]! + u]! - positions[3 * corners[0]! + u]!, positions[3 * corners[i]! + v]! - positions[3 * corners[0]! + v]!);
  }
  const cut = earcut(flat);
  for (let i = 0; i < cut.length; i += 3) {
    const [a, b, c] = [cut[i]!, cut[i + 1]!, cut[i + 2]!];
    const twice = (flat[2 * b]! - flat[2 * a]!) * (flat[2 * c + 1]! - flat[2 * a + 1]!) - (flat[2 * c]! - flat[2 * a]!) * (flat[2 * b + 1]! - flat[2 * a + 1]!);
    if (twice >= 0 === sign >= 0) push(corners[a]!, corners[b]!, corners[c]!);
    else push(corners[a]!, corners[c]!, corners[b]!);
  }
}
