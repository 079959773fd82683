import { cos } from '../../geometry/same-math.ts';
import { cutIntoBlocks, independentVariance, joinBlocks } from './facet-blocks.ts';
import { squaresAboutBend } from '../planes/judge-curvature.ts';
import { CHI_SQUARED_3, NUISANCE, type MergeRules } from '../planes/merge-regions.ts';
import type { PooledNormals } from '../voxels/pooled-normals.ts';
import { copyRegion, newRegion, refit, residualOf, type Region } from '../planes/region.ts';
import { searchCuts } from './search-cuts.ts';
import { pruneFacets, settleBorders, straightenBorders } from './settle-facets.ts';
import { smoothed, type SmoothedSurface } from './smoothed-surface.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { addMoments, keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';

/** Planes that meet at less than this may have been grown as one, or cut in the wrong place. */
export const SHALLOW = cos((8 * Math.PI) / 180);
/** A smaller facet is not looked for: in a shallow roof its pitch would be noise. [m²] */
export const SMALLEST_FACET = 1.5;

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
  let even: SmoothedSurface | null = null;
  const lead = group[0]!;
  const variance = surfaceVariance(table, surface, lead, rules);
  // What one more plane costs in squared error before it is believed.
  const price = CHI_SQUARED_3 * 3 * variance;
  let best = group.map(copyRegion);
  let least = scoreOf(table, best, surface, price, rules);
  for (const size of blockSizes(table, surface.length)) {
    const facets = facetsOf(table, group, surface, size, CHI_SQUARED_3 * variance, rules);
    if (facets.length === 0 || (facets.length === 1 && group.length === 1)) continue;
    even ??= smoothed(table, surface, placeOf);
    settleBorders(table, facets, even, variance);
    pruneFacets(table, facets, even, variance, price);
    straightenBorders(table, facets, even, rules.noise);
    const sound = facets.filter((facet) => facet.voxels.length > 0);
    const score = scoreOf(table, sound, surface, price, rules);
    if (score >= least) continue;
    least = score;
    best = sound;
  }
  if (lead.c >= NEAR_LEVEL) {
    even ??= smoothed(table, surface, placeOf);
    best = searchCuts(table, best, { surface, even, variance, price, rules, score: (facets) => scoreOf(table, facets, surface, price, rules) });
  }
  if (!even) return null;
  for (const v of surface) placeOf[v] = -1;
  // A quadratic surface has twice the numbers of a plane. Where it does as well the surface is curved, and more strips say no more.
  const bent = best.length > group.length ? squaresAboutBend(table, surface, rules.noise) : null;
  if (bent !== null && bent + 2 * price < least) return null;
  return { facets: best, surface };
}

/** The next surface needs to know only which voxels are loose. */
function noteFacets(regionOf: Int32Array, group: SurfaceGroup, facets: readonly Region[]): void {
  for (const { voxels } of group) for (const v of voxels) regionOf[v] = -1;
  for (const { voxels } of facets) for (const v of voxels) regionOf[v] = 0;
}

function restore(regionOf: Int32Array, before: Int32Array, changed: readonly Region[]): void {
  for (const { voxels } of changed) for (const v of voxels) regionOf[v] = before[v]!;
}

/** Falls of flat roofs are laid at up to some 4 per cent; a surface no steeper than this is searched for facets one by one. */
const NEAR_LEVEL = cos((4 * Math.PI) / 180);

/** Block edges to try: small ones follow small facets, large ones see small falls. [m] */
function blockSizes(table: VoxelTable, voxelCount: number): number[] {
  const area = voxelCount * table.size * table.size;
  const least = Math.max(3 * table.size, Math.sqrt(area / 1200));
  return [0.8, 1.2, 1.8, 2.7].filter((size) => size >= least && size * size * 6 < area).concat(least > 2.7 ? [least] : []);
}

function surfaceVariance(table: VoxelTable, surface: readonly number[], lead: Region, { noise, inflation }: MergeRules): number {
  const size = Math.max(4 * table.size, 0.8, Math.sqrt((surface.length * table.size * table.size) / 1200));
  const measured = independentVariance(cutIntoBlocks(table, surface, lead, size));
  const white = noise * noise;
  return Math.max(2 * white, measured ?? inflation * white);
}

/** Squared error a set of planes leaves on a surface, plus the price of each plane. */
function scoreOf(table: VoxelTable, facets: readonly Region[], surface: readonly number[], price: number, { noise }: MergeRules): number {
  const most = (4 * noise) ** 2;
  let error = 0;
  let covered = 0;
  let all = 0;
  const { sums } = table;
  for (let i = 0; i < surface.length; i++) all += sums[MOMENTS * surface[i]!]!;
  for (const facet of facets) {
    const { voxels } = facet;
    for (let i = 0; i < voxels.length; i++) {
      const n = sums[MOMENTS * voxels[i]!]!;
      const off = residualOf(table, facet, voxels[i]!);
      covered += n;
      error += n * Math.min(most, off * off);
    }
  }
  return error + Math.max(0, all - covered) * noise * noise * 2 + price * facets.length;
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

function facetsOf(
  table: VoxelTable,
  group: readonly Region[],
  surface: readonly number[],
  size: number,
  most: number,
  rules: MergeRules,
): Region[] {
  const lead = group[0]!;
  const blocks = cutIntoBlocks(table, surface, lead, size);
  const nuisance = (NUISANCE * rules.noise) ** 2;
  const { groupOf, groups } = joinBlocks(blocks, (points) => Math.max(most, nuisance * points));
  const facets = Array.from({ length: groups }, () => newRegion(lead.about));
  for (let i = 0; i < surface.length; i++) {
    const facet = facets[groupOf[blocks.blockOf[i]!]!]!;
    facet.voxels.push(surface[i]!);
    addMoments(table, surface[i]!, lead.about, facet.moments);
  }
  const least = Math.max(SMALLEST_FACET / (table.size * table.size), 9);
  const kept = facets.filter((facet) => facet.voxels.length >= least);
  for (const facet of kept) refit(table, facet);
  return kept.concat(unexplained(table, group, kept, rules));
}

/** Regions of a group that no facet describes, mostly because they are smaller than three blocks. */
function unexplained(table: VoxelTable, group: readonly Region[], facets: readonly Region[], { noise }: MergeRules): Region[] {
  return group
    .filter((region) => {
      let off = 0;
      for (const v of region.voxels) if (facets.every((facet) => Math.abs(residualOf(table, facet, v)) > 2.5 * noise)) off++;
      return off > 0.6 * region.voxels.length;
    })
    .map(copyRegion);
}
