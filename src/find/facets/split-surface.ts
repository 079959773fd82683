import { cos } from '../../geometry/same-math.ts';
import type { MergeRules } from '../planes/merge-regions.ts';
import { copyRegion, type Region } from '../planes/region.ts';
import type { PooledNormals } from '../voxels/pooled-normals.ts';
import { keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';
import { findFacets, SMALLEST_FACET, type SettledSurface } from './search-facets.ts';

/** Planes that meet at less than this may have been grown as one, or cut in the wrong place. */
export const SHALLOW = cos((8 * Math.PI) / 180);

/** What the search of every surface looks at and none changes. Plain data: it crosses threads. */
export interface SurfaceSearch {
  readonly table: VoxelTable;
  readonly pooled: Pick<PooledNormals, 'normals' | 'thickness'>;
  /** Region of each voxel, negative for loose ones. */
  readonly regionOf: Int32Array;
  readonly rules: MergeRules;
}

/** Regions that make up one smooth surface; the largest first, its plane stands for the surface. */
export type SurfaceGroup = readonly Region[];

/** The facets that take the place of a group, and all voxels of its surface. */
export interface SplitSurface {
  readonly facets: readonly Region[];
  readonly surface: readonly number[];
}

/**
 * Looks for facets in surfaces, those of a cluster one after the other, as each may take up or leave loose voxels beside the next.
 *
 * @param clusters  No surface of one touches a surface of another.
 * @returns For every group what takes its place; null where it stays as it is.
 */
export function splitClusters(search: SurfaceSearch, clusters: readonly (readonly SurfaceGroup[])[]): (SplitSurface | null)[][] {
  const room = takeRoom(search.regionOf);
  const answers = clusters.map((given) => {
    const groups = given.map((group) => group.map(copyRegion));
    const splits = groups.map((group) => {
      const split = splitSurface(search, group, room);
      if (split) noteFacets(room.regionOf, group, split.facets);
      return split;
    });
    // Every cluster starts from the same regions, whichever stand before it in the list.
    splits.forEach((split, g) => split && restore(room.regionOf, search.regionOf, [...groups[g]!, ...split.facets]));
    return splits;
  });
  kept = new WeakRef(room);
  return answers;
}

/** Room to work in: regions as they are now, and two arrays that are the same before and after a surface. */
interface Room {
  readonly regionOf: Int32Array;
  readonly placeOf: Int32Array;
  readonly taken: Uint8Array;
}

/** A thread searches one piece of work after the other in the same room, as long as nothing else wants its memory. */
let kept: WeakRef<Room> | null = null;

function takeRoom(regionOf: Int32Array): Room {
  const known = kept?.deref();
  kept = null;
  const room = known?.regionOf.length === regionOf.length ? known : newRoom(regionOf.length);
  room.regionOf.set(regionOf);
  return room;
}

const newRoom = (count: number): Room => ({ regionOf: new Int32Array(count), placeOf: new Int32Array(count).fill(-1), taken: new Uint8Array(count) });

function splitSurface(search: SurfaceSearch, group: SurfaceGroup, { regionOf, placeOf, taken }: Room): SplitSurface | null {
  const { table, rules } = search;
  const surface = smoothSurface(search, group, regionOf, taken);
  if (surface.length * table.size * table.size < 2 * SMALLEST_FACET) return null;
  const settled: SettledSurface = { voxels: surface, placeOf, even: null };
  const facets = findFacets(table, group, settled, rules);
  if (!settled.even) return null;
  for (const v of surface) placeOf[v] = -1;
  return facets && { facets, surface };
}

/** The next surface needs to know only which voxels are loose. */
function noteFacets(regionOf: Int32Array, group: SurfaceGroup, facets: readonly Region[]): void {
  for (const { voxels } of group) for (const v of voxels) regionOf[v] = -1;
  for (const { voxels } of facets) for (const v of voxels) regionOf[v] = 0;
}

function restore(regionOf: Int32Array, before: Int32Array, changed: readonly Region[]): void {
  for (const { voxels } of changed) for (const v of voxels) regionOf[v] = before[v]!;
}

/**
 * The voxels of a group and the loose ones that continue it without a step.
 *
 * @param taken  Zero for every voxel; is so again afterwards.
 */
export function smoothSurface({ table, pooled, rules: { noise } }: SurfaceSearch, group: readonly Region[], regionOf: Int32Array, taken: Uint8Array): number[] {
  const surface = group.flatMap(({ voxels }) => voxels);
  if (group.length === 1 && surface.length * table.size * table.size < 4 * SMALLEST_FACET) return surface;
  const { a, b, c } = group[0]!;
  const { means } = table;
  for (const v of surface) taken[v] = 1;
  const { first, list } = keptNeighbours(table);
  const { normals, thickness } = pooled;
  for (let at = 0; at < surface.length; at++) {
    const v = surface[at]!;
    for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
      const u = list[k]!;
      if (regionOf[u]! >= 0 || taken[u]) continue;
      const facing = Math.abs(a * normals[3 * u]! + b * normals[3 * u + 1]! + c * normals[3 * u + 2]!);
      if (facing < SHALLOW || thickness[u]! > 4 * noise * noise) continue;
      const dx = means[3 * u]! - means[3 * v]!;
      const dy = means[3 * u + 1]! - means[3 * v + 1]!;
      const dz = means[3 * u + 2]! - means[3 * v + 2]!;
      if (Math.abs(a * dx + b * dy + c * dz) > 2 * noise + 0.1 * Math.hypot(dx, dy, dz)) continue;
      taken[u] = 1;
      surface.push(u);
    }
  }
  for (const v of surface) taken[v] = 0;
  return surface;
}
