import { solveLinear } from '../../geometry/solve-linear.ts';
import type { RegionPair } from './merge-regions.ts';
import { interiorOf } from './region-mask.ts';
import { newRegion, refit, residualOf, type Region } from './region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { addMoments, type VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

/** Terms of the surface fitted to the residuals: 1, u, w, uu, uw, ww. */
const TERMS = 6;
/** Root mean square that the bent part must take out of the residuals, in multiples of the noise. [-] */
const LEAST_BEND = 0.25;
/** Larger radii are sag, not shape. [m] */
const LARGEST_RADIUS = 50;
/** 99.9 % of F with 3 and many degrees of freedom, times four: neighbouring voxels share part of their error. */
const F_LIMIT = 4 * 5.42;
/** Strips of one vault turn from each to the next by this much. cos 25°, cos 4° */
const SHARPEST_TURN = cos((25 * Math.PI) / 180);
const LEAST_TURN = cos((4 * Math.PI) / 180);
/** A gap between curved strips may turn less. cos 1.5° */
const LEAST_GAP_TURN = cos((1.5 * Math.PI) / 180);
/** Residuals that one bent surface may leave on two strips, in parts of what their own planes leave. [-] */
const AS_GOOD = 1.25;

export interface CurvedRegions {
  /** By region. */
  readonly curved: readonly boolean[];
  /** Regions of each curved surface: strips that touch and turn smoothly, or one region that bends by itself. */
  readonly surfaces: readonly (readonly number[])[];
}

/**
 * Tells which regions no flat plane describes: those whose own residuals bend, and neighbours that turn smoothly into each
 * other, because growing cuts a vault into strips that are each nearly flat. Two planes that meet in a crease are
 * no such pair: a quadratic surface cannot follow a crease.
 *
 * @param pairs  Roof planes that touch.
 * @param isRoof  Regions that matter.
 * @param noise  Of the cloud, one sigma. [m]
 */
export function findCurved(
  table: VoxelTable,
  regions: readonly Region[],
  pairs: readonly RegionPair[],
  isRoof: (region: number) => boolean,
  noise: number,
): CurvedRegions {
  const inside = regions.map((region, r) => {
    if (!isRoof(r)) return [];
    const interior = interiorOf(table, region);
    const inner = region.voxels.filter((_, i) => interior[i]);
    // A narrow strip is all rim.
    return inner.length < 0.2 * region.voxels.length ? region.voxels : inner;
  });
  const bends = regions.map((region, r) => fitBend(table, inside[r]!, region));
  const curved = bends.map((bend) => bend !== null && isBent(bend, noise));
  for (const { first, second } of pairs) {
    const a = bends[first];
    const b = bends[second];
    if (!a || !b) continue;
    const turn = dotNormals(regions[first]!, regions[second]!);
    if (turn < SHARPEST_TURN || turn > LEAST_TURN) continue;
    const both = newRegion(regions[first]!.about);
    both.voxels.push(...inside[first]!, ...inside[second]!);
    for (const v of both.voxels) addMoments(table, v, both.about, both.moments);
    refit(table, both);
    const bend = fitBend(table, both.voxels, both);
    if (!bend || !isBent(bend, noise) || bend.left > AS_GOOD * AS_GOOD * (a.squares + b.squares)) continue;
    curved[first] = true;
    curved[second] = true;
  }
  closeGaps(regions, pairs, curved, isRoof);
  return { curved, surfaces: joinStrips(regions, pairs, curved) };
}

/** A strip between two curved ones that turn away from it to both sides is part of what they are part of, flat as it looks by itself. */
function closeGaps(regions: readonly Region[], pairs: readonly RegionPair[], curved: boolean[], isRoof: (region: number) => boolean): void {
  const beside = new Map<number, number[]>();
  for (const { first, second } of pairs) {
    const turn = dotNormals(regions[first]!, regions[second]!);
    if (curved[first] === curved[second] || turn < SHARPEST_TURN || turn > LEAST_GAP_TURN) continue;
    const [flat, bent] = curved[first] ? [second, first] : [first, second];
    const known = beside.get(flat);
    if (known) known.push(bent);
    else beside.set(flat, [bent]);
  }
  for (const [r, neighbours] of beside) {
    const own = regions[r]!;
    const awayFrom = (other: number): [number, number, number] => [regions[other]!.a - own.a, regions[other]!.b - own.b, regions[other]!.c - own.c];
    const opposed = neighbours.some((x) => neighbours.some((y) => awayFrom(x).reduce((sum, value, k) => sum + value * awayFrom(y)[k]!, 0) < 0));
    if (isRoof(r) && opposed) curved[r] = true;
  }
}

/** Curved regions that touch and turn into each other by less than a crease, as groups in the order of their first region. */
function joinStrips(regions: readonly Region[], pairs: readonly RegionPair[], curved: readonly boolean[]): number[][] {
  const owner = regions.map((_, r) => r);
  const find = (r: number): number => {
    let root = r;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  for (const { first, second } of pairs) {
    if (!curved[first] || !curved[second] || dotNormals(regions[first]!, regions[second]!) < SHARPEST_TURN) continue;
    const [a, b] = [find(first), find(second)];
    owner[Math.max(a, b)] = Math.min(a, b);
  }
  const groups = new Map<number, number[]>();
  curved.forEach((isCurved, r) => {
    if (!isCurved) return;
    const group = groups.get(find(r));
    if (group) group.push(r);
    else groups.set(find(r), [r]);
  });
  return [...groups.values()];
}

const dotNormals = (a: Region, b: Region): number => a.a * b.a + a.b * b.b + a.c * b.c;

/**
 * Squared residuals that one bent surface leaves on voxels; null where they do not bend, or so little that it is sag.
 *
 * @param noise  Of the cloud, one sigma. [m]
 * @returns [m²]
 */
export function squaresAboutBend(table: VoxelTable, voxels: readonly number[], noise: number): number | null {
  const plane = newRegion(voxels[0]!);
  for (const v of voxels) addMoments(table, v, plane.about, plane.moments);
  refit(table, plane);
  const bend = fitBend(table, voxels, plane);
  return bend && isBent(bend, noise) ? bend.left : null;
}

interface Bend {
  readonly voxels: number;
  readonly points: number;
  /** Squared residuals about the plane, and what the quadratic surface leaves of them. [m²] */
  readonly squares: number;
  readonly left: number;
  /** Part that the three bent terms take. [m²] */
  readonly gain: number;
  /** [m] */
  readonly radius: number;
}

function isBent({ voxels, points, left, gain, radius }: Bend, noise: number): boolean {
  if (radius > LARGEST_RADIUS) return false;
  const f = gain / 3 / (left / (voxels - TERMS));
  return f > F_LIMIT && Math.sqrt(Math.max(0, gain) / points) > LEAST_BEND * noise;
}

/** Fits 1, u, w, uu, uw, ww to the residuals of voxels about a plane; null when they are too few. */
function fitBend(table: VoxelTable, voxels: readonly number[], plane: Region): Bend | null {
  if (voxels.length < 4 * TERMS) return null;
  const { means, sums } = table;
  let cx = 0;
  let cy = 0;
  let cz = 0;
  for (let k = 0; k < voxels.length; k++) {
    cx += means[3 * voxels[k]!]!;
    cy += means[3 * voxels[k]! + 1]!;
    cz += means[3 * voxels[k]! + 2]!;
  }
  cx /= voxels.length;
  cy /= voxels.length;
  cz /= voxels.length;
  const level = Math.hypot(plane.a, plane.b);
  const [ux, uy, uz] = level > 1e-6 ? [-plane.b / level, plane.a / level, 0] as const : [1, 0, 0] as const;
  const [wx, wy, wz] = [plane.b * uz - plane.c * uy, plane.c * ux - plane.a * uz, plane.a * uy - plane.b * ux];
  const matrix = new Float64Array(TERMS * TERMS);
  const right = new Float64Array(TERMS);
  const terms = new Float64Array(TERMS);
  let points = 0;
  let squares = 0;
  terms[0] = 1;
  for (let k = 0; k < voxels.length; k++) {
    const v = voxels[k]!;
    const x = means[3 * v]! - cx;
    const y = means[3 * v + 1]! - cy;
    const z = means[3 * v + 2]! - cz;
    const p = x * ux + y * uy + z * uz;
    const q = x * wx + y * wy + z * wz;
    terms[1] = p;
    terms[2] = q;
    terms[3] = p * p;
    terms[4] = p * q;
    terms[5] = q * q;
    const residual = residualOf(table, plane, v);
    const n = sums[MOMENTS * v]!;
    points += n;
    squares += n * residual * residual;
    for (let i = 0; i < TERMS; i++) {
      const weighted = n * terms[i]!;
      right[i]! += weighted * residual;
      for (let j = 0; j < TERMS; j++) matrix[TERMS * i + j]! += weighted * terms[j]!;
    }
  }
  const flat = solvePart(matrix, right, 3);
  const bent = solvePart(matrix, right, TERMS);
  if (!flat || !bent) return null;
  const taken = taking(bent, right);
  const left = Math.max(squares - taken, 1e-12 * squares, Number.MIN_VALUE);
  return { voxels: voxels.length, points, squares, left, gain: taken - taking(flat, right), radius: radiusOf(bent) };
}

/** Best factors of the first `count` terms. */
function solvePart(matrix: Float64Array, right: Float64Array, count: number): Float64Array | null {
  const part = new Float64Array(count * count);
  for (let i = 0; i < count; i++) for (let j = 0; j < count; j++) part[count * i + j] = matrix[TERMS * i + j]!;
  return solveLinear(part, right.slice(0, count));
}

/** Squared residual that a solution takes up. */
const taking = (solution: Float64Array, right: Float64Array): number =>
  solution.reduce((sum, value, i) => sum + value * right[i]!, 0);

/** Smallest radius of curvature of a fitted surface. [m] */
function radiusOf(solution: Float64Array): number {
  const mean = solution[3]! + solution[5]!;
  const spread = Math.hypot(solution[3]! - solution[5]!, solution[4]!);
  return 1 / Math.max(Math.abs(mean + spread), Math.abs(mean - spread), 1e-12);
}
