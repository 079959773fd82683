import { touchingPairs, type MergeRules } from '../planes/merge-regions.ts';
import type { PooledNormals } from '../voxels/pooled-normals.ts';
import { copyRegion, newRegion, type Region } from '../planes/region.ts';
import type { RoofKernels } from '../roof-kernels.ts';
import { SMALLEST_FACET } from './search-facets.ts';
import { SHALLOW, smoothSurface, type SurfaceSearch } from './split-surface.ts';
import { keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';

/**
 * Second look at surfaces whose planes meet at shallow angles (falls of a flat roof, a 2° roof, two houses in a row that
 * are not quite one plane): growing runs over such lines. The smooth surface is cut into blocks, the blocks are joined
 * bottom-up as long as the data cannot tell them apart, and the borders are then put where the planes cross.
 *
 * Surfaces that do not touch do not know of each other, so they may be looked at in any thread; what is found is put in place in
 * the order of the surfaces.
 *
 * @param mayBeRoof  Regions worth the effort; others are left as they are.
 * @returns All regions, and the voxels of surfaces with three facets or more; `regionOf` is brought up to date.
 */
export async function splitFacets(
  table: VoxelTable,
  { normals, thickness }: PooledNormals,
  regions: readonly Region[],
  regionOf: Int32Array,
  mayBeRoof: readonly boolean[],
  rules: MergeRules,
  kernels: Pick<RoofKernels, 'splitClusters'>,
): Promise<{ regions: Region[]; falls: Set<number> }> {
  const search: SurfaceSearch = { table, pooled: { normals, thickness }, regionOf, rules };
  const groups = shallowGroups(table, regions, regionOf, mayBeRoof, rules);
  const clusters = clustersOf(search, groups.map((group) => group.map((r) => regions[r]!)));
  const answers = await kernels.splitClusters(search, clusters.map((members) => members.map((g) => groups[g]!.map((r) => regions[r]!))));
  const splitOf = new Map(clusters.flatMap((members, c) => members.map((g, i) => [g, answers[c]![i]!] as const)));
  const falls = new Set<number>();
  const result: Region[] = [...regions];
  groups.forEach((group, g) => {
    const split = splitOf.get(g);
    if (!split) return;
    replaceRegions(result, regionOf, group, split.facets);
    if (split.facets.length > 2) for (const v of split.surface) falls.add(v);
  });
  return { regions: compacted(result, regionOf), falls };
}

/** Surfaces that touch or share loose voxels, directly or over others, as lists of groups; without those too small to be looked at. */
function clustersOf(search: SurfaceSearch, groups: readonly (readonly Region[])[]): number[][] {
  const { table, regionOf } = search;
  const owner = groups.map((_, g) => g);
  const find = (g: number): number => {
    let root = g;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  const surfaceOf = new Int32Array(table.count).fill(-1);
  const taken = new Uint8Array(table.count);
  const { first, list } = keptNeighbours(table);
  const sizes = groups.map((group, g) => {
    const surface = smoothSurface(search, group, regionOf, taken);
    const meet = (v: number): void => {
      if (surfaceOf[v]! < 0 || surfaceOf[v] === g) return;
      const [a, b] = [find(g), find(surfaceOf[v]!)];
      owner[Math.max(a, b)] = Math.min(a, b);
    };
    for (const v of surface) {
      meet(v);
      surfaceOf[v] = g;
      for (let k = first[v]!, end = first[v + 1]!; k < end; k++) meet(list[k]!);
    }
    return surface.length;
  });
  const clusters = new Map<number, number[]>();
  groups.forEach((_, g) => {
    const root = find(g);
    const cluster = clusters.get(root);
    if (cluster) cluster.push(g);
    else clusters.set(root, [g]);
  });
  return [...clusters.values()].filter((members) => members.length > 1 || sizes[members[0]!]! * table.size * table.size >= 2 * SMALLEST_FACET);
}

/** Regions that touch without a step at a shallow angle, as groups; single ones too. */
function shallowGroups(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  mayBeRoof: readonly boolean[],
  { noise }: MergeRules,
): number[][] {
  const owner = regions.map((_, r) => r);
  const find = (r: number): number => {
    let root = r;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  const fits = (first: number, second: number): boolean => {
    if (!mayBeRoof[first] || !mayBeRoof[second]) return false;
    const a = regions[first]!;
    const b = regions[second]!;
    return a.a * b.a + a.b * b.b + a.c * b.c >= SHALLOW;
  };
  for (const { first, second, step } of touchingPairs(table, regionOf, regions, mayBeRoof)) {
    if (!fits(first, second) || step > 3 * noise) continue;
    const a = find(first);
    const b = find(second);
    owner[Math.max(a, b)] = Math.min(a, b);
  }
  const groups = new Map<number, number[]>();
  regions.forEach((region, r) => {
    if (!mayBeRoof[r] || region.voxels.length === 0) return;
    const root = find(r);
    const group = groups.get(root);
    if (group) group.push(r);
    else groups.set(root, [r]);
  });
  // The largest first in a group: its plane stands for the surface.
  for (const group of groups.values()) group.sort((a, b) => regions[b]!.voxels.length - regions[a]!.voxels.length || a - b);
  return [...groups.values()];
}

/** Puts facets in the place of the regions of a group. */
function replaceRegions(result: Region[], regionOf: Int32Array, group: readonly number[], facets: readonly Region[]): void {
  for (const r of group) {
    for (const v of result[r]!.voxels) regionOf[v] = -1;
    result[r] = newRegion(result[r]!.about);
  }
  facets.forEach((facet, i) => {
    const place = i < group.length ? group[i]! : result.length;
    result[place] = copyRegion(facet);
    for (const v of facet.voxels) regionOf[v] = place;
  });
}

/** Drops regions without voxels and renumbers. */
export function compacted(regions: readonly Region[], regionOf: Int32Array): Region[] {
  const kept: Region[] = [];
  const numberOf = new Int32Array(regions.length).fill(-1);
  regions.forEach((region, r) => {
    if (region.voxels.length === 0) return;
    numberOf[r] = kept.length;
    kept.push(region);
  });
  for (let v = 0; v < regionOf.length; v++) if (regionOf[v]! >= 0) regionOf[v] = numberOf[regionOf[v]!]!;
  return kept;
}
