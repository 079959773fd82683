import type { LocalPoints } from './bin-into-cells.ts';
import type { Mesh } from './mesh.ts';

/** Half a mean triangle edge says all a mesh can say; these two keep fine scans and plain drawings within reason. [m] */
const FINEST_SPACING = 0.02;
const COARSEST_SPACING = 0.1;
/** More points than this add time and no knowledge: a mesh says no more than its triangles. */
const MOST_POINTS = 2_000_000;
const MOST_POINTS_PER_TRIANGLE = 100;
/** A plain model of few large triangles still gets enough points for every one of its roof planes. */
const FEWEST_WANTED = 300_000;

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
  const laid = new LaidPoints(mesh);
  for (let t = 0; t < mesh.triangles.length; t += 3) layOnTriangle(mesh, t, spacing, laid);
  return laid.finish();
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
 * small that more than a hundred points per triangle (or 300 000, if that is more) or two million in all come of it. Two
 * significant digits, so that the order of triangles cannot move it.
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
  const most = Math.min(MOST_POINTS, Math.max(FEWEST_WANTED, (MOST_POINTS_PER_TRIANGLE * triangles.length) / 3));
  const affordable = Math.sqrt(meshArea(mesh) / most) * unitToMetre;
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

/** Points laid so far, and room to work in. */
class LaidPoints {
  /** Per side: start u, start v, run u, run v, sign. The sides face the first, second and third corner. */
  readonly sides = new Float64Array(15);
  private count = 0;
  private positions = new Float64Array(3 * 4096);
  private colours: Uint8Array | null;

  constructor(private readonly mesh: Mesh) {
    this.colours = mesh.colours ? new Uint8Array(3 * 4096) : null;
  }

  /** @param wb  Weight of the second corner. @param wc  Weight of the third. */
  add(a: number, b: number, c: number, wb: number, wc: number): void {
    const at = 3 * this.count++;
    if (at === this.positions.length) this.grow();
    const { positions, colours } = this.mesh;
    for (let axis = 0; axis < 3; axis++) {
      const start = positions[a + axis]!;
      // From the first corner, so that large coordinates keep their digits.
      this.positions[at + axis] = start + wb * (positions[b + axis]! - start) + wc * (positions[c + axis]! - start);
      if (this.colours) this.colours[at + axis] = Math.round((1 - wb - wc) * colours![a + axis]! + wb * colours![b + axis]! + wc * colours![c + axis]!);
    }
  }

  finish(): LocalPoints {
    const size = 3 * this.count;
    return { pointCount: this.count, positions: this.positions.slice(0, size), colours: this.colours?.slice(0, size) ?? null, intensity: null, classification: null };
  }

  private grow(): void {
    const larger = new Float64Array(2 * this.positions.length);
    larger.set(this.positions);
    this.positions = larger;
    if (!this.colours) return;
    const more = new Uint8Array(larger.length);
    more.set(this.colours);
    this.colours = more;
  }
}

/** Lays a point wherever a lattice position falls into the shadow of one triangle. */
function layOnTriangle(mesh: Mesh, t: number, spacing: number, laid: LaidPoints): void {
  const { positions, triangles } = mesh;
  const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
  const normal = doubleArea(mesh, t);
  const [nx, ny, nz] = [Math.abs(normal[0]), Math.abs(normal[1]), Math.abs(normal[2])];
  // The lattice across z wins ties, so that a 45° roof is seen from above like its neighbours.
  const axis = nz >= nx && nz >= ny ? 2 : nx >= ny ? 0 : 1;
  const area = normal[axis]!;
  // No size, or a corner that is not finite.
  if (!(Math.abs(area) > 0) || !Number.isFinite(area)) return;
  const [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
  const [va, vb, vc] = [positions[a + v]!, positions[b + v]!, positions[c + v]!];
  const { sides } = laid;
  setSide(sides, 0, positions[b + u]!, vb, positions[c + u]!, vc);
  setSide(sides, 5, positions[c + u]!, vc, positions[a + u]!, va);
  setSide(sides, 10, positions[a + u]!, va, positions[b + u]!, vb);
  const lastRow = Math.floor(Math.max(va, vb, vc) / spacing);
  for (let row = Math.floor(Math.min(va, vb, vc) / spacing); row <= lastRow; row++) {
    const lastColumn = Math.floor(reach(sides, row * spacing, (row + 1) * spacing, 1) / spacing);
    for (let column = Math.floor(-reach(sides, row * spacing, (row + 1) * spacing, -1) / spacing); column <= lastColumn; column++) {
      const random = hashOfSquare(column, row, axis);
      const pu = (column + (random & 0xffff) / 0x10000) * spacing;
      const pv = (row + (random >>> 16) / 0x10000) * spacing;
      const wb = areaBeside(sides, 5, pu, pv) / area;
      const wc = areaBeside(sides, 10, pu, pv) / area;
      if (wb >= 0 && wc >= 0 && areaBeside(sides, 0, pu, pv) / area >= 0) laid.add(a, b, c, wb, wc);
    }
  }
}

/**
 * Notes a side by its lower end. The ends are taken in a fixed order, so that the two triangles on a side get the same
 * number with opposite signs for any position, and none falls between them.
 */
function setSide(sides: Float64Array, at: number, u0: number, v0: number, u1: number, v1: number): void {
  const forward = v0 < v1 || (v0 === v1 && u0 <= u1);
  sides[at] = forward ? u0 : u1;
  sides[at + 1] = forward ? v0 : v1;
  sides[at + 2] = forward ? u1 - u0 : u0 - u1;
  sides[at + 3] = forward ? v1 - v0 : v0 - v1;
  sides[at + 4] = forward ? 1 : -1;
}

/** Twice the area between a side and a position. */
const areaBeside = (sides: Float64Array, at: number, pu: number, pv: number): number =>
  sides[at + 4]! * (sides[at + 2]! * (pv - sides[at + 1]!) - sides[at + 3]! * (pu - sides[at]!));

/** Greatest u (direction 1), or greatest −u (direction −1), of the triangle within a band of v. */
function reach(sides: Float64Array, low: number, high: number, direction: number): number {
  let far = -Infinity;
  for (let at = 0; at < 15; at += 5) {
    const [u0, v0, du, dv] = [sides[at]!, sides[at + 1]!, sides[at + 2]!, sides[at + 3]!];
    if (v0 > high || v0 + dv < low) continue;
    const from = dv > 0 ? Math.max(0, (low - v0) / dv) : 0;
    const to = dv > 0 ? Math.min(1, (high - v0) / dv) : 1;
    far = Math.max(far, direction * (u0 + from * du), direction * (u0 + to * du));
  }
  return far;
}

/** 32 well-mixed bits of a square's number (finaliser of MurmurHash3, A. Appleby 2011, public domain). */
function hashOfSquare(column: number, row: number, axis: number): number {
  let mixed = (Math.imul(column | 0, 0x9e3779b1) ^ Math.imul(row | 0, 0x85ebca77) ^ Math.imul(axis + 1, 0xc2b2ae3d)) >>> 0;
  mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
  return (mixed ^ (mixed >>> 16)) >>> 0;
}
