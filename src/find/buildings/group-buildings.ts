import { roughArea } from '../planes/choose-roofs.ts';
import type { RegionPair } from '../planes/merge-regions.ts';
import { residualOf, type Region } from '../planes/region.ts';
import { keptNeighbours, neighboursOf, type VoxelTable } from '../voxels/voxel-table.ts';

/** Two planes that come no nearer than this (and the noise) are parted by a step. [m] */
const LEAST_STEP = 0.05;

/**
 * Groups roof planes that touch into buildings. Planes on both sides of a height step do not touch: terraces fall apart at
 * their party walls, and an annex is a building of its own.
 *
 * @param pairs  Roof planes that touch.
 * @param regionOf  Region of each voxel, below 0 for none.
 * @returns Region numbers of each building; the largest building first, in it the largest plane first.
 */
export function groupBuildings(
  table: VoxelTable,
  regions: readonly Region[],
  pairs: readonly RegionPair[],
  regionOf: Int32Array,
  isRoof: readonly boolean[],
  noise: number,
): number[][] {
  const owner = regions.map((_, r) => r);
  const find = (r: number): number => {
    let root = r;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  const join = (first: number, second: number): void => {
    const [a, b] = [find(first), find(second)];
    owner[Math.max(a, b)] = Math.min(a, b);
  };
  for (const { first, second, nearest } of pairs) {
    if (nearest > LEAST_STEP + 3 * noise + awayFromLine(table, regions[first]!, regions[second]!)) continue;
    join(first, second);
  }
  joinAcrossRidges(table, regions, regionOf, isRoof, noise, join);
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

/**
 * A ridge may run through the middle of voxels. Without noise their points lie too far off either plane for it, and the
 * planes touch only across them: such a voxel's points lie as near to both as a bend within one voxel allows.
 */
function joinAcrossRidges(
  table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, isRoof: readonly boolean[], noise: number, join: (first: number, second: number) => void,
): void {
  const near = new Int32Array(26);
  const isBeside = looseBeside(table, regionOf, isRoof);
  for (let v = 0; v < table.count; v++) {
    if (isBeside[v] === 0) continue;
    const found = neighboursOf(table, v, near);
    let first = -1;
    for (let k = 0; k < found; k++) {
      const r = regionOf[near[k]!]!;
      if (r < 0 || !isRoof[r] || r === first) continue;
      if (first < 0) first = r;
      else if (bendsWithin(table, v, regions[first]!, regions[r]!, noise)) join(first, r);
    }
  }
}

/** 1 for voxels of no region that touch a roof plane. */
function looseBeside(table: VoxelTable, regionOf: Int32Array, isRoof: readonly boolean[]): Uint8Array {
  const { first, list } = keptNeighbours(table);
  const isBeside = new Uint8Array(table.count);
  for (let v = 0; v < table.count; v++) {
    if (regionOf[v]! < 0 || !isRoof[regionOf[v]!]) continue;
    for (let k = first[v]!, end = first[v + 1]!; k < end; k++) if (regionOf[list[k]!]! < 0) isBeside[list[k]!] = 1;
  }
  return isBeside;
}

function bendsWithin(table: VoxelTable, v: number, first: Region, second: Region, noise: number): boolean {
  const most = LEAST_STEP / 2 + 3 * noise + awayFromLine(table, first, second) / 2;
  return Math.abs(residualOf(table, first, v)) < most && Math.abs(residualOf(table, second, v)) < most;
}
