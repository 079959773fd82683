import { sumMembers } from './grow-regions.ts';
import { refit, residualOf, type Region } from './region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { addMoments, type VoxelTable } from '../voxels/voxel-table.ts';

/**
 * The voxels of one region as a picture, seen along the axis its plane faces most: there a plane is single-valued and a
 * voxel's eight neighbours are where they belong, however steep and turned the plane is.
 */
export interface RegionMask {
  readonly columns: number;
  readonly rows: number;
  /** Picture cell of each voxel of the region, in the order of `region.voxels`. */
  readonly cellOf: Int32Array;
  /** 0 outside; inside, cells to the nearest border: 1 at the border, 2 beside those, and so on. A free rim surrounds it. */
  readonly depth: Uint16Array;
}

/**
 * @param cutUpstands  Leave out the cells above which something stands, as a thin wall does between two houses whose voxels
 *   of roof it only half covers.
 */
export function maskOf(table: VoxelTable, region: Region, cutUpstands = false): RegionMask {
  const mask = filledMask(table, region, cutUpstands);
  deepen(mask.depth, mask.columns);
  return mask;
}

/** The picture with ones inside: no depths yet. */
function filledMask(table: VoxelTable, region: Region, cutUpstands: boolean): RegionMask {
  const { columns, rows, cellOf } = pictureOf(table, region);
  const depth = new Uint16Array(columns * rows);
  for (let i = 0; i < cellOf.length; i++) depth[cellOf[i]!] = 1;
  if (cutUpstands && region.c >= 0.5) clearUnderUpstands(table, region, cellOf, depth);
  if (isThin(table, region)) closeGaps(depth, columns);
  fillPinholes(depth, columns);
  return { columns, rows, cellOf, depth };
}

/** Points in a covered voxel below which many voxels inside a plane are empty by chance: one in twenty at this mean (Poisson). */
const THIN = 3;

function isThin({ sums }: VoxelTable, { voxels }: Region): boolean {
  let points = 0;
  for (let i = 0; i < voxels.length; i++) points += sums[MOMENTS * voxels[i]!]!;
  return points < THIN * voxels.length;
}

/** How many cells of the picture hold a voxel. */
export function coveredCells(table: VoxelTable, region: Region): number {
  const { columns, rows, cellOf } = pictureOf(table, region);
  const seen = new Uint8Array(columns * rows);
  let covered = 0;
  for (let i = 0; i < cellOf.length; i++) {
    const cell = cellOf[i]!;
    if (seen[cell] !== 0) continue;
    seen[cell] = 1;
    covered++;
  }
  return covered;
}

/** Places of voxels are 32-bit integers. */
const MOST_PLACES = 2 ** 31 - 1;

function pictureOf(table: VoxelTable, region: Region): { columns: number; rows: number; cellOf: Int32Array } {
  const [across, along] = axesOf(table, region);
  const { voxels } = region;
  let x0 = MOST_PLACES;
  let y0 = MOST_PLACES;
  let x1 = -MOST_PLACES;
  let y1 = -MOST_PLACES;
  for (let i = 0; i < voxels.length; i++) {
    const x = across[voxels[i]!]!;
    const y = along[voxels[i]!]!;
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
  }
  const columns = x1 - x0 + 3;
  const cellOf = new Int32Array(voxels.length);
  for (let i = 0; i < cellOf.length; i++) {
    const v = voxels[i]!;
    cellOf[i] = (along[v]! - y0 + 1) * columns + across[v]! - x0 + 1;
  }
  return { columns, rows: y1 - y0 + 3, cellOf };
}

function axesOf(table: VoxelTable, { a, b, c }: Region): [Int32Array, Int32Array] {
  if (c >= 0.5) return [table.x, table.y];
  return Math.abs(a) > Math.abs(b) ? [table.y, table.level] : [table.x, table.level];
}

/** What stands up to this far above a plane may be an upstand. [m] */
const TALLEST_UPSTAND = 1.2;
/** Points above a cell, in parts of the points a cell usually has on the plane, that make it covered. */
const COVERED = 0.4;

function clearUnderUpstands(table: VoxelTable, region: Region, cellOf: Int32Array, depth: Uint16Array): void {
  const { sums, entry, entryFirst, entryCount, level, size } = table;
  const onPlane = new Float64Array(depth.length);
  const above = new Float64Array(depth.length);
  const highest = Math.ceil(TALLEST_UPSTAND / size);
  const lowest = Math.max(0.1, 4 * region.sigma);
  const { voxels } = region;
  for (let i = 0; i < voxels.length; i++) {
    const v = voxels[i]!;
    const cell = cellOf[i]!;
    onPlane[cell]! += sums[MOMENTS * v]!;
    let over = 0;
    // Those of a column stand in the order of their levels.
    const end = entryFirst[entry[v]!]! + entryCount[entry[v]!]!;
    for (let u = v + 1; u < end && level[u]! <= level[v]! + highest; u++) {
      if (residualOf(table, region, u) >= lowest) over += sums[MOMENTS * u]!;
    }
    if (over > above[cell]!) above[cell] = over;
  }
  const counts = onPlane.filter((count) => count > 0).sort();
  const most = COVERED * counts[counts.length >> 1]!;
  for (const cell of cellOf) if (above[cell]! > most) depth[cell] = 0;
}

/** Closes gaps up to two cells wide: grown by one cell, then shrunk by one (closing, Serra 1982). */
function closeGaps(depth: Uint16Array, columns: number): void {
  const around = aroundOf(columns);
  const grown = depth.slice();
  for (let k = columns + 1; k < depth.length - columns - 1; k++) {
    if (depth[k]) continue;
    for (const step of around) if (depth[k + step]) grown[k] = 1;
  }
  for (let k = columns + 1; k < depth.length - columns - 1; k++) {
    if (depth[k] || !grown[k] || !around.every((step) => grown[k + step])) continue;
    depth[k] = 1;
  }
}

const aroundOf = (columns: number): readonly number[] => [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1];

/** A single cell without a voxel is noise, not an edge; a line of them, which leaves six neighbours, is an upstand. */
function fillPinholes(depth: Uint16Array, columns: number): void {
  const holes: number[] = [];
  for (let k = columns; k < depth.length - columns; k++) {
    // Most of what is empty is empty to both sides as well.
    if (depth[k] !== 0 || (depth[k - 1] === 0 && depth[k + 1] === 0)) continue;
    if (neighboursInside(depth, k, columns) >= 7) holes.push(k);
  }
  for (const k of holes) depth[k] = 1;
}

/** How many of the eight cells around one are inside. */
function neighboursInside(depth: Uint16Array, k: number, columns: number): number {
  const inside = (at: number): number => (depth[at]! > 0 ? 1 : 0);
  return (
    inside(k - columns - 1) + inside(k - columns) + inside(k - columns + 1) + inside(k - 1) +
    inside(k + 1) + inside(k + columns - 1) + inside(k + columns) + inside(k + columns + 1)
  );
}

/** Turns a mask of ones into depths: two passes of the chessboard distance transform (Rosenfeld, Pfaltz 1966). */
function deepen(depth: Uint16Array, columns: number): void {
  const count = depth.length;
  for (let k = columns + 1; k < count; k++) {
    if (depth[k] === 0) continue;
    depth[k] = 1 + Math.min(depth[k - 1]!, depth[k - columns - 1]!, depth[k - columns]!, depth[k - columns + 1]!);
  }
  for (let k = count - columns - 2; k >= 0; k--) {
    if (depth[k] === 0) continue;
    depth[k] = Math.min(depth[k]!, 1 + Math.min(depth[k + 1]!, depth[k + columns - 1]!, depth[k + columns]!, depth[k + columns + 1]!));
  }
}

/**
 * From this voxel size on the margin of one voxel costs more points than it saves: the cloud is too thin for small planes
 * to spare them, and comes from a scanner, which does not round edges. [m]
 */
export const NO_MARGIN = 0.35;

/** True for the voxels of a region that may take part in its fit, in the order of `region.voxels`: one voxel from every border. */
export function interiorOf(table: VoxelTable, region: Region): Uint8Array {
  if (table.size > NO_MARGIN) return new Uint8Array(region.voxels.length).fill(1);
  const { cellOf, depth, columns } = filledMask(table, region, false);
  const inside = new Uint8Array(cellOf.length);
  // A cell lies deeper than the border when all around it are inside.
  for (let i = 0; i < cellOf.length; i++) if (neighboursInside(depth, cellOf[i]!, columns) === 8) inside[i] = 1;
  return inside;
}

/** Fits a region to its voxels away from every border, as far as it has enough of them. */
export function refitInside(table: VoxelTable, region: Region): void {
  if (region.voxels.length < 3) return;
  const interior = interiorOf(table, region);
  region.moments.fill(0);
  let inside = 0;
  for (let i = 0; i < interior.length; i++) {
    if (!interior[i]) continue;
    addMoments(table, region.voxels[i]!, region.about, region.moments);
    inside++;
  }
  if (inside < 9) sumMembers(table, region);
  refit(table, region);
}
