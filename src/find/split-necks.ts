import { newRegion, type Region } from './region.ts';
import { maskOf, refitInside, type RegionMask } from './region-mask.ts';
import { compacted } from './split-facets.ts';
import type { VoxelTable } from './voxel-table.ts';

/** A part counts as a plane of its own from this slope area up; a smaller one stays with its neighbour. [m²] */
const SMALLEST_PART = 1.5;
/** How narrow a neck may be, in parts of the smaller part's half width: between falls, and elsewhere. */
const FALL_NECK = 0.4;
const WALL_NECK = 0.3;
/** An upstand between two houses is at most this wide. [m] */
const WIDEST_UPSTAND = 0.9;
/** Voxels larger than this do not show an upstand as a gap. [m] */
const COARSEST_FOR_UPSTANDS = 0.35;
/** Parts that face each other across an upstand do so along this many times the width of the neck that is left. */
const FACING_TO_NECK = 3;

/**
 * Cuts regions where only a neck holds them together: two houses of one plane parted by an upstand that stops short of
 * the eave, two falls of a flat roof that touch in a corner. Depths (voxels to the nearest border) are flooded from the
 * deepest down; two basins that meet at a small part of their own depth stay apart if they are falls (their lines
 * run into corners at angles that noise blunts), or if they face each other across a narrow gap along a line much longer
 * than the neck: an upstand. A dormer that nearly cuts a slope in two leaves a wide gap and does not count.
 *
 * @param isFall  Regions that are falls of a shallow roof.
 */
export function splitNecks(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  mayBeRoof: readonly boolean[],
  isFall: (region: Region) => boolean,
): Region[] {
  const result = [...regions];
  regions.forEach((region, r) => {
    if (!mayBeRoof[r]) return;
    const mask = maskOf(table, region, true);
    const fall = isFall(region);
    const least = Math.max(9, SMALLEST_PART / (table.size * table.size));
    const basinOf = floodBasins(mask, least, fall ? FALL_NECK : WALL_NECK);
    if (!fall && table.size > COARSEST_FOR_UPSTANDS) return;
    if (!fall) rejoinUnlessWalled(mask, basinOf, Math.ceil(WIDEST_UPSTAND / table.size));
    spreadBasins(mask, basinOf);
    const basins = [...new Set(mask.cellOf.map((cell) => basinOf[cell]!))].sort((a, b) => a - b);
    if (basins.length < 2) return;
    const fresh = basins.map((_, i) => (i === 0 ? region : newRegion(region.about)));
    const numbers = fresh.map((part, i) => (i === 0 ? r : result.push(part) - 1));
    const voxels = [...region.voxels];
    region.voxels.length = 0;
    voxels.forEach((v, i) => {
      const part = basins.indexOf(basinOf[mask.cellOf[i]!]!);
      fresh[part]!.voxels.push(v);
      regionOf[v] = numbers[part]!;
    });
    for (const part of fresh) refitInside(table, part);
  });
  return compacted(result, regionOf);
}

/** Basin of each cell of a mask, -1 outside. */
function floodBasins({ depth, columns }: RegionMask, least: number, neck: number): Int32Array {
  const basinOf = new Int32Array(depth.length).fill(-1);
  const peak: number[] = [];
  const size: number[] = [];
  const into: number[] = [];
  const around = [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1];
  for (const cell of deepestFirst(depth)) {
    let basin = -1;
    for (const step of around) {
      if (basinOf[cell + step]! < 0) continue;
      const other = rootOf(into, basinOf[cell + step]!);
      if (basin < 0) basin = other;
      if (other === basin) continue;
      const [low, high] = size[other]! < size[basin]! ? [other, basin] : [basin, other];
      const shallow = Math.min(peak[low]!, peak[high]!);
      if (shallow >= 3 && size[low]! >= least && depth[cell]! <= Math.max(1, neck * shallow)) continue;
      into[low] = high;
      size[high]! += size[low]!;
      peak[high] = Math.max(peak[low]!, peak[high]!);
      basin = high;
    }
    if (basin < 0) {
      basin = peak.length;
      peak.push(depth[cell]!);
      size.push(0);
      into.push(basin);
    }
    basinOf[cell] = basin;
    size[basin]!++;
  }
  return basinOf.map((basin) => (basin < 0 ? -1 : rootOf(into, basin)));
}

/** Gives the cells that the mask left out to the basin that reaches them first. */
function spreadBasins({ cellOf, columns }: RegionMask, basinOf: Int32Array): void {
  const wanted = new Set(cellOf.filter((cell) => basinOf[cell]! < 0));
  let front = [...cellOf].filter((cell) => basinOf[cell]! >= 0);
  while (wanted.size > 0) {
    const next: number[] = [];
    for (const cell of front) {
      for (const step of [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1]) {
        if (!wanted.delete(cell + step)) continue;
        basinOf[cell + step] = basinOf[cell]!;
        next.push(cell + step);
      }
    }
    if (next.length === 0) break;
    front = next;
  }
  for (const cell of wanted) basinOf[cell] = basinOf[cellOf.find((known) => basinOf[known]! >= 0) ?? cell]!;
}

function rootOf(into: readonly number[], basin: number): number {
  let root = basin;
  while (into[root] !== root) root = into[root]!;
  return root;
}

function deepestFirst(depth: Uint16Array): number[] {
  const cells: number[] = [];
  for (let k = 0; k < depth.length; k++) if (depth[k]) cells.push(k);
  return cells.sort((a, b) => depth[b]! - depth[a]! || a - b);
}

/** Gives back to each other the basins between which no upstand stands. */
function rejoinUnlessWalled({ columns, rows }: RegionMask, basinOf: Int32Array, reach: number): void {
  const basins = [...new Set(basinOf)].filter((basin) => basin >= 0).sort((a, b) => a - b);
  const into: number[] = [];
  for (const basin of basins) into[basin] = basin;
  for (let i = 0; i < basins.length; i++) {
    for (let j = i + 1; j < basins.length; j++) {
      const neck = countFacing(basinOf, columns, rows, basins[i]!, basins[j]!, 1);
      if (neck === 0) continue;
      const facing = countFacing(basinOf, columns, rows, basins[i]!, basins[j]!, reach) / reach;
      if (facing < FACING_TO_NECK * Math.max(neck, 2)) into[rootOf(into, basins[j]!)] = rootOf(into, basins[i]!);
    }
  }
  for (let k = 0; k < basinOf.length; k++) if (basinOf[k]! >= 0) basinOf[k] = rootOf(into, basinOf[k]!);
}

/** Cells of one basin that have a cell of another within `reach` cells. */
function countFacing(basinOf: Int32Array, columns: number, rows: number, first: number, second: number, reach: number): number {
  let facing = 0;
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (basinOf[y * columns + x] !== first) continue;
      let found = false;
      for (let dy = Math.max(-reach, -y); dy <= Math.min(reach, rows - 1 - y) && !found; dy++) {
        for (let dx = Math.max(-reach, -x); dx <= Math.min(reach, columns - 1 - x) && !found; dx++) {
          found = basinOf[(y + dy) * columns + x + dx] === second;
        }
      }
      if (found) facing++;
    }
  }
  return facing;
}
