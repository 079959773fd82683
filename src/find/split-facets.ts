import { cutIntoBlocks, independentVariance, joinBlocks } from './facet-blocks.ts';
import { squaresAboutBend } from './judge-curvature.ts';
import { CHI_SQUARED_3, NUISANCE, touchingPairs, type MergeRules } from './merge-regions.ts';
import type { PooledNormals } from './pooled-normals.ts';
import { searchCuts } from './search-cuts.ts';
import { pruneFacets, settleBorders, smoothed, straightenBorders, type SmoothedSurface } from './settle-facets.ts';
import { newRegion, refit, residualOf, type Region } from './region.ts';
import { MOMENTS } from './sum-voxels.ts';
import { addMoments, neighboursOf, type VoxelTable } from './voxel-table.ts';
import { cos } from '../geometry/same-math.ts';

/** Planes that meet at less than this may have been grown as one, or cut in the wrong place. */
const SHALLOW = cos((8 * Math.PI) / 180);
/** A smaller facet is not looked for: in a shallow roof its pitch would be noise. [m²] */
const SMALLEST_FACET = 1.5;

/**
 * Second look at surfaces whose planes meet at shallow angles (falls of a flat roof, a 2° roof, two houses in a row that
 * are not quite one plane): growing runs over such lines. The smooth surface is cut into blocks, the blocks are joined
 * bottom-up as long as the data cannot tell them apart, and the borders are then put where the planes cross.
 *
 * @param mayBeRoof  Regions worth the effort; others are left as they are.
 * @returns All regions, and the voxels of surfaces with three facets or more; `regionOf` is brought up to date.
 */
export function splitFacets(
  table: VoxelTable,
  pooled: PooledNormals,
  regions: readonly Region[],
  regionOf: Int32Array,
  mayBeRoof: readonly boolean[],
  rules: MergeRules,
): { regions: Region[]; falls: Set<number> } {
  const falls = new Set<number>();
  const placeOf = new Int32Array(table.count).fill(-1);
  const taken = new Uint8Array(table.count);
  const result: Region[] = [...regions];
  for (const group of shallowGroups(table, regions, regionOf, mayBeRoof, rules)) {
    const surface = smoothSurface(table, pooled, regions, regionOf, group, rules, taken);
    if (surface.length * table.size * table.size < 2 * SMALLEST_FACET) continue;
    let even: SmoothedSurface | null = null;
    const lead = regions[group[0]!]!;
    const variance = surfaceVariance(table, surface, lead, rules);
    // What one more plane costs in squared error before it is believed.
    const price = CHI_SQUARED_3 * 3 * variance;
    let best = group.map((r) => copyOf(regions[r]!));
    let least = scoreOf(table, best, surface, price, rules);
    for (const size of blockSizes(table, surface.length)) {
      const facets = facetsOf(table, regions, group, surface, size, CHI_SQUARED_3 * variance, rules);
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
    if (!even) continue;
    for (const v of surface) placeOf[v] = -1;
    // A quadratic surface has twice the numbers of a plane. Where it does as well the surface is curved, and more strips say no more.
    const bent = best.length > group.length ? squaresAboutBend(table, surface, rules.noise) : null;
    if (bent !== null && bent + 2 * price < least) continue;
    replaceRegions(result, regionOf, group, best);
    if (best.length > 2) for (const v of surface) falls.add(v);
  }
  return { regions: compacted(result, regionOf), falls };
}

/** Falls of flat roofs are laid at up to some 4 per cent; a surface no steeper than this is searched for facets one by one. */
const NEAR_LEVEL = cos((4 * Math.PI) / 180);

const copyOf = (region: Region): Region => ({ ...region, moments: region.moments.slice(), voxels: [...region.voxels] });

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
  for (const v of surface) all += table.sums[MOMENTS * v]!;
  for (const facet of facets) {
    for (const v of facet.voxels) {
      const n = table.sums[MOMENTS * v]!;
      covered += n;
      error += n * Math.min(most, residualOf(table, facet, v) ** 2);
    }
  }
  return error + Math.max(0, all - covered) * noise * noise * 2 + price * facets.length;
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

/** The voxels of a group and the loose ones that continue it without a step. */
function smoothSurface(
  table: VoxelTable,
  pooled: PooledNormals,
  regions: readonly Region[],
  regionOf: Int32Array,
  group: readonly number[],
  { noise }: MergeRules,
  taken: Uint8Array,
): number[] {
  const surface = group.flatMap((r) => regions[r]!.voxels);
  if (group.length === 1 && surface.length * table.size * table.size < 4 * SMALLEST_FACET) return surface;
  const { a, b, c } = regions[group[0]!]!;
  const { means } = table;
  for (const v of surface) taken[v] = 1;
  const near = new Int32Array(26);
  for (let at = 0; at < surface.length; at++) {
    const v = surface[at]!;
    const found = neighboursOf(table, v, near);
    for (let k = 0; k < found; k++) {
      const u = near[k]!;
      if (regionOf[u]! >= 0 || taken[u]) continue;
      const facing = Math.abs(a * pooled.normals[3 * u]! + b * pooled.normals[3 * u + 1]! + c * pooled.normals[3 * u + 2]!);
      if (facing < SHALLOW || pooled.thickness[u]! > 4 * noise * noise) continue;
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
  regions: readonly Region[],
  group: readonly number[],
  surface: readonly number[],
  size: number,
  most: number,
  rules: MergeRules,
): Region[] {
  const lead = regions[group[0]!]!;
  const blocks = cutIntoBlocks(table, surface, lead, size);
  const nuisance = (NUISANCE * rules.noise) ** 2;
  const { groupOf, groups } = joinBlocks(blocks, (points) => Math.max(most, nuisance * points));
  const facets = Array.from({ length: groups }, () => newRegion(lead.about));
  surface.forEach((v, i) => {
    const facet = facets[groupOf[blocks.blockOf[i]!]!]!;
    facet.voxels.push(v);
    addMoments(table, v, lead.about, facet.moments);
  });
  const least = Math.max(SMALLEST_FACET / (table.size * table.size), 9);
  const kept = facets.filter((facet) => facet.voxels.length >= least);
  for (const facet of kept) refit(table, facet);
  return kept.concat(unexplained(table, regions, group, kept, rules));
}

/** Regions of a group that no facet describes, mostly because they are smaller than three blocks. */
function unexplained(table: VoxelTable, regions: readonly Region[], group: readonly number[], facets: readonly Region[], { noise }: MergeRules): Region[] {
  return group
    .map((r) => regions[r]!)
    .filter((region) => {
      let off = 0;
      for (const v of region.voxels) if (facets.every((facet) => Math.abs(residualOf(table, facet, v)) > 2.5 * noise)) off++;
      return off > 0.6 * region.voxels.length;
    })
    .map(copyOf);
}

/** Puts facets in the place of the regions of a group. */
function replaceRegions(result: Region[], regionOf: Int32Array, group: readonly number[], facets: readonly Region[]): void {
  for (const r of group) {
    for (const v of result[r]!.voxels) regionOf[v] = -1;
    result[r] = newRegion(result[r]!.about);
  }
  facets.forEach((facet, i) => {
    const place = i < group.length ? group[i]! : result.length;
    result[place] = facet;
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
