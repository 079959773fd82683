import type { LocalPoints } from './bin-into-cells.ts';
import type { Mesh } from './mesh.ts';

/** Half a mean triangle edge says all a mesh can say; these two keep fine scans and plain drawings within reason. [m] */
const FINEST_SPACING = 0.02;
const COARSEST_SPACING = 0.1;
/** More points than this add time and no knowledge: a mesh says no more than its triangles. */
const MOST_POINTS = 2_000_000;

/**
 * Lays points on a mesh: one for each square of a lattice that the surface passes through.
 *
 * Every triangle is looked at along the axis nearest to its normal, and a lattice of squares of the given side lies across
 * that axis. Each square holds one position, moved about inside it by a number made from the square alone; where that
 * position falls inside the triangle's shadow, a point is laid on the triangle. So the points are stratified across
 * neighbouring triangles however small these are, a triangle's points do not depend on the others or on their order,
 * and seen along the axis there is one point per square of `spacing`; on the surface the spacing is at most
 * 3^¼ = 1.32 times that. Colours are interpolated between the corners.
 *
 * Lost against it: drawing points per triangle by its area. Triangles smaller than a square then get a point by chance,
 * which gives clumps and gaps as in white noise.
 *
 * @param spacing  Side of a square. [source unit] Too small costs time without knowledge, too large rounds edges.
 * @returns Points in source coordinates, triangle by triangle.
 * @throws RangeError when the spacing is not positive.
 */
export function sampleMesh(mesh: Mesh, spacing: number): LocalPoints {
  if (!(spacing > 0)) throw new RangeError(`Expected a positive spacing, got ${spacing}.`);
  let count = 0;
  const { triangles } = mesh;
  for (let t = 0; t < triangles.length; t += 3) eachPoint(mesh, t, spacing, () => count++);
  const positions = new Float64Array(3 * count);
  const colours = mesh.colours ? new Uint8Array(3 * count) : null;
  let at = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    eachPoint(mesh, t, spacing, (wa, wb, wc) => {
      for (let axis = 0; axis < 3; axis++) {
        const [a, b, c] = [3 * triangles[t]! + axis, 3 * triangles[t + 1]! + axis, 3 * triangles[t + 2]! + axis];
        const start = mesh.positions[a]!;
        // From the first corner, so that large coordinates keep their digits.
        positions[at + axis] = start + wb * (mesh.positions[b]! - start) + wc * (mesh.positions[c]! - start);
        if (colours) colours[at + axis] = Math.round(wa * mesh.colours![a]! + wb * mesh.colours![b]! + wc * mesh.colours![c]!);
      }
      at += 3;
    });
  }
  return { pointCount: count, positions, colours, intensity: null, classification: null };
}

/** Surface area of a mesh. [source unit²] */
export function meshArea(mesh: Mesh): number {
  let sum = 0;
  for (let t = 0; t < mesh.triangles.length; t += 3) {
    const [x, y, z] = doubleArea(mesh, t);
    sum += Math.hypot(x, y, z) / 2;
  }
  return sum;
}

/**
 * Spacing that loses nothing a mesh can tell: half its mean triangle edge, but not below 2 cm, not above 10 cm, and not so
 * small that more than two million points come of it. Two significant digits, so that the order of triangles cannot move it.
 *
 * @returns [m]
 */
export function defaultMeshSpacing(mesh: Mesh, unitToMetre: number): number {
  const { positions, triangles } = mesh;
  let sum = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    for (let side = 0; side < 3; side++) {
      const a = 3 * triangles[t + side]!;
      const b = 3 * triangles[t + ((side + 1) % 3)]!;
      sum += Math.hypot(positions[a]! - positions[b]!, positions[a + 1]! - positions[b + 1]!, positions[a + 2]! - positions[b + 2]!);
    }
  }
  const meanEdge = triangles.length > 0 ? (sum / triangles.length) * unitToMetre : 0;
  const wanted = Math.min(COARSEST_SPACING, Math.max(FINEST_SPACING, meanEdge / 2));
  const affordable = Math.sqrt(meshArea(mesh) / MOST_POINTS) * unitToMetre;
  return Number(Math.max(wanted, affordable).toPrecision(2));
}

/** Vector of twice the triangle's area. */
function doubleArea({ positions, triangles }: Mesh, t: number): [number, number, number] {
  const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
  const ux = positions[b]! - positions[a]!;
  const uy = positions[b + 1]! - positions[a + 1]!;
  const uz = positions[b + 2]! - positions[a + 2]!;
  const vx = positions[c]! - positions[a]!;
  const vy = positions[c + 1]! - positions[a + 1]!;
  const vz = positions[c + 2]! - positions[a + 2]!;
  return [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
}

/** Visits the lattice positions inside one triangle's shadow with the weights of its three corners. */
function eachPoint(mesh: Mesh, t: number, spacing: number, visit: (wa: number, wb: number, wc: number) => void): void {
  const [nx, ny, nz] = doubleArea(mesh, t).map(Math.abs) as [number, number, number];
  // The lattice across z wins ties, so that a 45° roof is seen from above like its neighbours.
  const axis = nz >= nx && nz >= ny ? 2 : nx >= ny ? 0 : 1;
  const [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
  const { positions, triangles } = mesh;
  const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
  const [ua, va] = [positions[a + u]!, positions[a + v]!];
  const [ub, vb] = [positions[b + u]!, positions[b + v]!];
  const [uc, vc] = [positions[c + u]!, positions[c + v]!];
  const firstRow = Math.floor(Math.min(va, vb, vc) / spacing);
  const lastRow = Math.floor(Math.max(va, vb, vc) / spacing);
  const area = (ub - ua) * (vc - va) - (uc - ua) * (vb - va);
  // No size, or a corner that is not finite.
  if (!(Math.abs(area) > 0) || !Number.isFinite(area)) return;
  for (let row = firstRow; row <= lastRow; row++) {
    const low = row * spacing;
    const high = low + spacing;
    const left = Math.min(sideEnd(Math.min, ua, va, ub, vb, low, high), sideEnd(Math.min, ub, vb, uc, vc, low, high), sideEnd(Math.min, uc, vc, ua, va, low, high));
    const right = Math.max(sideEnd(Math.max, ua, va, ub, vb, low, high), sideEnd(Math.max, ub, vb, uc, vc, low, high), sideEnd(Math.max, uc, vc, ua, va, low, high));
    const lastColumn = Math.floor(right / spacing);
    for (let column = Math.floor(left / spacing); column <= lastColumn; column++) {
      const random = hashOfSquare(column, row, axis);
      const pu = (column + (random & 0xffff) / 0x10000) * spacing;
      const pv = (row + (random >>> 16) / 0x10000) * spacing;
      const wa = side(ub, vb, uc, vc, pu, pv) / area;
      const wb = side(uc, vc, ua, va, pu, pv) / area;
      const wc = side(ua, va, ub, vb, pu, pv) / area;
      if (wa >= 0 && wb >= 0 && wc >= 0) visit(wa, wb, wc);
    }
  }
}

/**
 * Twice the area between a side and a position. The side's ends are taken in a fixed order, so that the two triangles on
 * it get the same number with opposite signs and no position falls between them.
 */
function side(u0: number, v0: number, u1: number, v1: number, pu: number, pv: number): number {
  return u0 < u1 || (u0 === u1 && v0 <= v1)
    ? (u1 - u0) * (pv - v0) - (v1 - v0) * (pu - u0)
    : -((u0 - u1) * (pv - v1) - (v0 - v1) * (pu - u1));
}

/** Least or greatest u of a side within a band of v; the neutral end where it does not enter the band. */
function sideEnd(choose: (a: number, b: number) => number, u0: number, v0: number, u1: number, v1: number, low: number, high: number): number {
  if (Math.max(v0, v1) < low || Math.min(v0, v1) > high) return choose(Infinity, -Infinity) === -Infinity ? Infinity : -Infinity;
  const at = (v: number): number => (v0 === v1 ? u0 : u0 + ((Math.min(Math.max(v, Math.min(v0, v1)), Math.max(v0, v1)) - v0) / (v1 - v0)) * (u1 - u0));
  return v0 === v1 ? choose(u0, u1) : choose(at(low), at(high));
}

/** 32 well-mixed bits of a square's number (finaliser of MurmurHash3, A. Appleby 2011, public domain). */
function hashOfSquare(column: number, row: number, axis: number): number {
  let mixed = (Math.imul(column | 0, 0x9e3779b1) ^ Math.imul(row | 0, 0x85ebca77) ^ Math.imul(axis + 1, 0xc2b2ae3d)) >>> 0;
  mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
  return (mixed ^ (mixed >>> 16)) >>> 0;
}
