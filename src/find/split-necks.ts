import { isInterior } from './interior-voxels.ts';
import { newRegion, type Region } from './region.ts';
import { compacted, refitInside } from './split-facets.ts';
import { neighboursOf, type VoxelTable } from './voxel-table.ts';

/** A part counts as a plane of its own from this slope area up; a smaller one stays with its neighbour. [m²] */
const SMALLEST_PART = 1.5;
/** How narrow a neck may be, in parts of the smaller part's half width: between falls, and elsewhere. */
const FALL_NECK = 0.4;
const WALL_NECK = 0.25;
/** An upstand between two houses is at most this wide. [m] */
const WIDEST_UPSTAND = 0.9;
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
  const depth = new Uint16Array(table.count);
  const basinOf = new Int32Array(table.count).fill(-1);
  regions.forEach((region, r) => {
    if (!mayBeRoof[r]) return;
    measureDepths(table, region, regionOf, depth);
    const fall = isFall(region);
    let basins = floodBasins(table, region, regionOf, depth, basinOf, fall ? FALL_NECK : WALL_NECK, fall ? 1 : 2);
    if (process.env.DBGN && region.voxels.length > 1000) console.log("neck", region.voxels.length, "c", region.c.toFixed(2), "fall", fall, "basins", basins.map((b) => region.voxels.filter((v) => basinOf[v] === b).length), "maxdepth", Math.max(...region.voxels.map((v) => depth[v]!)));
    if (basins.length > 1 && !fall) basins = rejoinUnlessWalled(table, region, basinOf, basins);
    if (basins.length < 2) return;
    const voxels = [...region.voxels];
    const fresh = basins.map((_, i) => (i === 0 ? region : newRegion(region.about)));
    const numbers = fresh.map((part, i) => (i === 0 ? r : result.push(part) - 1));
    region.voxels.length = 0;
    for (const v of voxels) {
      const part = basins.indexOf(basinOf[v]!);
      fresh[part]!.voxels.push(v);
      regionOf[v] = numbers[part]!;
    }
    for (const number of numbers) refitInside(table, result[number]!, (v) => regionOf[v] === number);
  });
  return compacted(result, regionOf);
}

/** Depth of each voxel of a region: 1 at its border, 2 beside those, and so on. */
function measureDepths(table: VoxelTable, region: Region, regionOf: Int32Array, depth: Uint16Array): void {
  const near = new Int32Array(26);
  const own = regionOf[region.voxels[0]!]!;
  const isOwn = (u: number): boolean => regionOf[u] === own;
  const queue: number[] = [];
  for (const v of region.voxels) {
    const found = neighboursOf(table, v, near);
    if (isInterior(table, isOwn, region, v, near, found)) continue;
    depth[v] = 1;
    queue.push(v);
  }
  for (let at = 0; at < queue.length; at++) {
    const found = neighboursOf(table, queue[at]!, near);
    for (let k = 0; k < found; k++) {
      const u = near[k]!;
      if (regionOf[u] !== own || depth[u] !== 0) continue;
      depth[u] = depth[queue[at]!]! + 1;
      queue.push(u);
    }
  }
}

/** Fills `basinOf` for the voxels of a region; returns the numbers of the basins that are left. */
function floodBasins(
  table: VoxelTable,
  region: Region,
  regionOf: Int32Array,
  depth: Uint16Array,
  basinOf: Int32Array,
  neck: number,
  alwaysNeck: number,
): number[] {
  const near = new Int32Array(26);
  const own = regionOf[region.voxels[0]!]!;
  const order = [...region.voxels].sort((a, b) => depth[b]! - depth[a]! || a - b);
  const peak: number[] = [];
  const size: number[] = [];
  const into: number[] = [];
  const find = (basin: number): number => {
    let root = basin;
    while (into[root] !== root) root = into[root]!;
    return root;
  };
  const least = Math.max(9, SMALLEST_PART / (table.size * table.size));
  for (const v of order) {
    const found = neighboursOf(table, v, near);
    let basin = -1;
    for (let k = 0; k < found; k++) {
      const u = near[k]!;
      if (regionOf[u] !== own || basinOf[u]! < 0) continue;
      const other = find(basinOf[u]!);
      if (basin < 0) basin = other;
      if (other === basin) continue;
      const [low, high] = size[other]! < size[basin]! ? [other, basin] : [basin, other];
      const shallow = Math.min(peak[low]!, peak[high]!);
      const apart = shallow >= 3 && size[low]! >= least && depth[v]! <= Math.max(alwaysNeck, neck * shallow);
      if (apart) continue;
      into[low] = high;
      size[high]! += size[low]!;
      peak[high] = Math.max(peak[low]!, peak[high]!);
      basin = high;
    }
    if (basin < 0) {
      basin = peak.length;
      peak.push(depth[v]!);
      size.push(0);
      into.push(basin);
    }
    basinOf[v] = basin;
    size[basin]!++;
  }
  for (const v of region.voxels) basinOf[v] = find(basinOf[v]!);
  return [...new Set(region.voxels.map((v) => basinOf[v]!))].sort((a, b) => a - b);
}

/** Gives back to each other the basins between which no upstand stands; returns the numbers of those left. */
function rejoinUnlessWalled(table: VoxelTable, region: Region, basinOf: Int32Array, basins: readonly number[]): number[] {
  const plan = planOf(table, region, basinOf);
  const reach = Math.ceil(WIDEST_UPSTAND / table.size);
  const into = new Map(basins.map((basin) => [basin, basin]));
  const find = (basin: number): number => {
    let root = basin;
    while (into.get(root) !== root) root = into.get(root)!;
    return root;
  };
  for (let i = 0; i < basins.length; i++) {
    for (let j = i + 1; j < basins.length; j++) {
      const neck = countFacing(plan, basins[i]!, basins[j]!, 1);
      if (process.env.DBGN) console.log("  pair", neck, countFacing(plan, basins[i]!, basins[j]!, reach), reach);
      if (neck === 0 || countFacing(plan, basins[i]!, basins[j]!, reach) >= FACING_TO_NECK * reach * Math.max(neck, 2)) continue;
      into.set(find(basins[j]!), find(basins[i]!));
    }
  }
  for (const v of region.voxels) basinOf[v] = find(basinOf[v]!);
  return [...new Set(basins.map(find))];
}

interface BasinPlan {
  readonly columns: number;
  readonly rows: number;
  /** Basin above each plan column, -1 for none. */
  readonly basin: Int32Array;
}

function planOf(table: VoxelTable, region: Region, basinOf: Int32Array): BasinPlan {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const v of region.voxels) {
    x0 = Math.min(x0, table.x[v]!);
    x1 = Math.max(x1, table.x[v]!);
    y0 = Math.min(y0, table.y[v]!);
    y1 = Math.max(y1, table.y[v]!);
  }
  const columns = x1 - x0 + 1;
  const basin = new Int32Array(columns * (y1 - y0 + 1)).fill(-1);
  for (const v of region.voxels) basin[(table.y[v]! - y0) * columns + table.x[v]! - x0] = basinOf[v]!;
  return { columns, rows: y1 - y0 + 1, basin };
}

/** Columns of one basin that have a column of another within `reach` columns. */
function countFacing({ columns, rows, basin }: BasinPlan, first: number, second: number, reach: number): number {
  let facing = 0;
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (basin[y * columns + x] !== first) continue;
      let found = false;
      for (let dy = -reach; dy <= reach && !found; dy++) {
        if (y + dy < 0 || y + dy >= rows) continue;
        for (let dx = -reach; dx <= reach && !found; dx++) {
          if (x + dx >= 0 && x + dx < columns && basin[(y + dy) * columns + x + dx] === second) found = true;
        }
      }
      if (found) facing++;
    }
  }
  return facing;
}
