import { isInterior } from './interior-voxels.ts';
import { newRegion, type Region } from './region.ts';
import { compacted, refitInside } from './split-facets.ts';
import { neighboursOf, type VoxelTable } from './voxel-table.ts';

/** A part counts as a plane of its own from this slope area up; a smaller one stays with its neighbour. [m²] */
const SMALLEST_PART = 1.5;

/**
 * Cuts regions where only a neck holds them together: two falls of one flat roof that touch in a corner, two houses of one
 * plane parted by an upstand that stops short of the eave. Parts are what is left connected when a rim one voxel
 * wide is taken off.
 */
export function splitNecks(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, mayBeRoof: readonly boolean[]): Region[] {
  const result = [...regions];
  const partOf = new Int32Array(table.count).fill(-1);
  regions.forEach((region, r) => {
    if (!mayBeRoof[r]) return;
    const parts = partsOf(table, region, regionOf, partOf);
    if (parts < 2) return;
    const fresh = Array.from({ length: parts }, (_, i) => (i === 0 ? region : newRegion(region.about)));
    const numbers = fresh.map((_, i) => (i === 0 ? r : result.push(fresh[i]!) - 1));
    const voxels = [...region.voxels];
    region.voxels.length = 0;
    for (const v of voxels) {
      const part = Math.max(0, partOf[v]!);
      fresh[part]!.voxels.push(v);
      regionOf[v] = numbers[part]!;
    }
    for (const number of numbers) refitInside(table, result[number]!, (v) => regionOf[v] === number);
  });
  return compacted(result, regionOf);
}

/** Numbers the parts of one region in `partOf`; returns how many there are. */
function partsOf(table: VoxelTable, region: Region, regionOf: Int32Array, partOf: Int32Array): number {
  const near = new Int32Array(26);
  const own = regionOf[region.voxels[0]!]!;
  const core = new Set<number>();
  for (const v of region.voxels) {
    const found = neighboursOf(table, v, near);
    if (isInterior(table, (u) => regionOf[u] === own, region, v, near, found)) core.add(v);
  }
  const least = Math.max(6, SMALLEST_PART / (table.size * table.size) / 2);
  let parts = 0;
  const queue: number[] = [];
  for (const start of core) {
    if (partOf[start]! >= 0) continue;
    const members = [start];
    partOf[start] = parts;
    for (let at = 0; at < members.length; at++) {
      const found = neighboursOf(table, members[at]!, near);
      for (let k = 0; k < found; k++) {
        const u = near[k]!;
        if (!core.has(u) || partOf[u]! >= 0) continue;
        partOf[u] = parts;
        members.push(u);
      }
    }
    if (members.length < least) {
      for (const v of members) {
        partOf[v] = -1;
        core.delete(v);
      }
      continue;
    }
    for (const v of members) queue.push(v);
    parts++;
  }
  if (parts < 2) {
    for (const v of queue) partOf[v] = -1;
    return parts;
  }
  // The rims go to the core that reaches them first.
  for (let at = 0; at < queue.length; at++) {
    const found = neighboursOf(table, queue[at]!, near);
    for (let k = 0; k < found; k++) {
      const u = near[k]!;
      if (regionOf[u] !== own || partOf[u]! >= 0) continue;
      partOf[u] = partOf[queue[at]!]!;
      queue.push(u);
    }
  }
  return parts;
}
