import { fitMoments, MOMENT_FIT_SIZE } from '../../geometry/fit-moments.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { centreX, centreY, centreZ, type VoxelTable } from '../voxels/voxel-table.ts';

/** A connected set of voxels on one plane, while it is being found. */
export interface Region {
  /** Voxel whose centre the moments are counted from. */
  about: number;
  /** Moments of the voxels the plane is fitted to. */
  readonly moments: Float64Array;
  readonly voxels: number[];
  /** Unit normal, z >= 0, and offset: normal · p + offset = 0, local frame. */
  a: number;
  b: number;
  c: number;
  d: number;
  /** One sigma of the fitted points along the normal. [m] */
  sigma: number;
  /** How many patches it was joined from but for the first, and the largest chi-square (3 degrees of freedom) among those joins. */
  joins: number;
  mostChiSquared: number;
}

export const newRegion = (about: number): Region => ({
  about,
  moments: new Float64Array(MOMENTS),
  voxels: [],
  a: 0,
  b: 0,
  c: 1,
  d: 0,
  sigma: 0,
  joins: 0,
  mostChiSquared: 0,
});

/**
 * A region of its own with the same numbers. What crossed a thread, or was spread into a new object, is of another kind to the
 * engine, and a loop that meets several kinds is compiled again and again: whoever takes regions in copies them.
 */
export function copyRegion(region: Region): Region {
  const copy = newRegion(region.about);
  copy.moments.set(region.moments);
  const { voxels } = region;
  for (let i = 0; i < voxels.length; i++) copy.voxels.push(voxels[i]!);
  copy.a = region.a;
  copy.b = region.b;
  copy.c = region.c;
  copy.d = region.d;
  copy.sigma = region.sigma;
  copy.joins = region.joins;
  copy.mostChiSquared = region.mostChiSquared;
  return copy;
}

const answer = new Float64Array(MOMENT_FIT_SIZE);

/** Makes a region that nobody kept as good as new. */
export function resetRegion(region: Region, about: number): void {
  region.about = about;
  region.moments.fill(0);
  region.voxels.length = 0;
  region.sigma = 0;
}

/** Sets the plane of a region from its moments. */
export function refit(table: VoxelTable, region: Region): void {
  const { moments, about } = region;
  fitMoments(moments, answer);
  region.a = answer[0]!;
  region.b = answer[1]!;
  region.c = answer[2]!;
  region.sigma = Math.sqrt(answer[3]!);
  const w = 1 / moments[0]!;
  region.d = -(
    region.a * (centreX(table, about) + moments[1]! * w) +
    region.b * (centreY(table, about) + moments[2]! * w) +
    region.c * (centreZ(table, about) + moments[3]! * w)
  );
}

/** Distance of the mean of voxel `v` from the plane of a region, along its normal. [m] */
export const residualOf = (table: VoxelTable, region: Region, v: number): number =>
  region.a * table.means[3 * v]! + region.b * table.means[3 * v + 1]! + region.c * table.means[3 * v + 2]! + region.d;

/** Moments of `from` counted from the centre of voxel `about`, added to `into`. */
export function addRegionMoments(table: VoxelTable, from: Region, about: number, into: Float64Array): void {
  const dx = (table.x[from.about]! - table.x[about]!) * table.size;
  const dy = (table.y[from.about]! - table.y[about]!) * table.size;
  const dz = (table.level[from.about]! - table.level[about]!) * table.size;
  const m = from.moments;
  const [n, sx, sy, sz] = [m[0]!, m[1]!, m[2]!, m[3]!];
  into[0]! += n;
  into[1]! += sx + n * dx;
  into[2]! += sy + n * dy;
  into[3]! += sz + n * dz;
  into[4]! += m[4]! + dx * (2 * sx + n * dx);
  into[5]! += m[5]! + dx * sy + dy * sx + n * dx * dy;
  into[6]! += m[6]! + dx * sz + dz * sx + n * dx * dz;
  into[7]! += m[7]! + dy * (2 * sy + n * dy);
  into[8]! += m[8]! + dy * sz + dz * sy + n * dy * dz;
  into[9]! += m[9]! + dz * (2 * sz + n * dz);
}

/** Mean square distance of the points of `region` from the plane of `plane`. [m²] */
export function meanSquareAbout(table: VoxelTable, region: Region, plane: Region): number {
  const m = region.moments;
  const { a, b, c } = plane;
  const atCentre =
    a * centreX(table, region.about) + b * centreY(table, region.about) + c * centreZ(table, region.about) + plane.d;
  const w = 1 / m[0]!;
  const first = (a * m[1]! + b * m[2]! + c * m[3]!) * w;
  const second =
    (a * a * m[4]! + b * b * m[7]! + c * c * m[9]! + 2 * (a * b * m[5]! + a * c * m[6]! + b * c * m[8]!)) * w;
  return Math.max(0, second + 2 * atCentre * first + atCentre * atCentre);
}
