import type { Region } from './region.ts';
import type { VoxelTable } from './voxel-table.ts';

/**
 * True when a voxel is surrounded on all sides, as seen along the axis its plane faces most, by voxels of its own region:
 * its points are at least one voxel from every edge, where reconstruction rounds and neighbours mix in.
 *
 * @param isOwn  Tells the voxels of the region.
 * @param near  The occupied neighbours of `v`, `found` of them.
 */
export function isInterior(
  table: VoxelTable,
  isOwn: (v: number) => boolean,
  region: Region,
  v: number,
  near: Int32Array,
  found: number,
): boolean {
  const ax = Math.abs(region.a);
  const ay = Math.abs(region.b);
  const az = Math.abs(region.c);
  let covered = 0;
  for (let k = 0; k < found; k++) {
    const u = near[k]!;
    if (!isOwn(u)) continue;
    const dx = table.x[u]! - table.x[v]!;
    const dy = table.y[u]! - table.y[v]!;
    const dz = table.level[u]! - table.level[v]!;
    const place = az >= ax && az >= ay ? 3 * dy + dx : ax >= ay ? 3 * dz + dy : 3 * dz + dx;
    covered |= 1 << (place + 4);
  }
  return (covered | 16) === 511;
}
