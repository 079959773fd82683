import { roughArea } from './choose-roofs.ts';
import type { RegionPair } from './merge-regions.ts';
import type { Region } from './region.ts';
import type { VoxelTable } from './voxel-table.ts';

/** Two planes that come no nearer than this (and the noise) are parted by a step. [m] */
const LEAST_STEP = 0.05;

/**
 * Groups roof planes that touch into buildings. Planes on both sides of a height step do not touch: terraces fall apart at
 * their party walls, and an annex is a building of its own.
 *
 * @param pairs  Roof planes that touch.
 * @returns Region numbers of each building; the largest building first, in it the largest plane first.
 */
export function groupBuildings(
  table: VoxelTable,
  regions: readonly Region[],
  pairs: readonly RegionPair[],
  isRoof: readonly boolean[],
  noise: number,
): number[][] {
  const owner = regions.map((_, r) => r);
  const find = (r: number): number => {
    let root = r;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  for (const { first, second, nearest } of pairs) {
    if (nearest > LEAST_STEP + 3 * noise + awayFromLine(table, regions[first]!, regions[second]!)) continue;
    const a = find(first);
    const b = find(second);
    owner[Math.max(a, b)] = Math.min(a, b);
  }
  const areas = regions.map((region, r) => (isRoof[r] ? roughArea(table, region) : 0));
  const groups = new Map<number, number[]>();
  regions.forEach((_, r) => {
    if (!isRoof[r]) return;
    const root = find(r);
    const group = groups.get(root);
    if (group) group.push(r);
    else groups.set(root, [r]);
  });
  const total = (group: readonly number[]): number => group.reduce((sum, r) => sum + areas[r]!, 0);
  const buildings = [...groups.values()];
  for (const group of buildings) group.sort((a, b) => areas[b]! - areas[a]! || a - b);
  return buildings.sort((a, b) => total(b) - total(a) || a[0]! - b[0]!);
}

/**
 * How far the last voxel before the line where two planes meet still lies from the other plane: up to a voxel away from the
 * line (its diagonal), times the sine of the angle between them. [m]
 */
function awayFromLine(table: VoxelTable, first: Region, second: Region): number {
  const cosine = first.a * second.a + first.b * second.b + first.c * second.c;
  return Math.SQRT2 * table.size * Math.sqrt(Math.max(0, 1 - cosine * cosine));
}
