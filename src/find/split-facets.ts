import { cutIntoBlocks, joinBlocks, squaredError } from './facet-blocks.ts';
import { sumMembers } from './grow-regions.ts';
import { isInterior } from './interior-voxels.ts';
import { CHI_SQUARED_3, NUISANCE, touchingPairs, type MergeRules } from './merge-regions.ts';
import type { PooledNormals } from './pooled-normals.ts';
import { meanSquareAbout, newRegion, refit, residualOf, type Region } from './region.ts';
import { addMoments, neighboursOf, type VoxelTable } from './voxel-table.ts';

/** Planes that meet at less than this may have been grown as one, or cut in the wrong place. */
const SHALLOW = Math.cos((8 * Math.PI) / 180);
/** A smaller facet is not looked for: in a shallow roof its pitch would be noise. [m²] */
const SMALLEST_FACET = 1.5;
/** Rounds of moving borders; a border a metre off needs about ten. */
const SWEEPS = 14;

/**
 * Second look at surfaces whose planes meet at shallow angles (falls of a flat roof, a 2° roof, two houses in a row that
 * are not quite one plane): growing runs over such lines. The smooth surface is cut into blocks, the blocks are joined
 * bottom-up as long as the data cannot tell them apart, and the borders are then put where the planes cross.
 *
 * @param mayBeRoof  Regions worth the effort; others are left as they are.
 * @returns All regions; `regionOf` is brought up to date.
 */
export function splitFacets(
  table: VoxelTable,
  pooled: PooledNormals,
  regions: readonly Region[],
  regionOf: Int32Array,
  mayBeRoof: readonly boolean[],
  rules: MergeRules,
): Region[] {
  const result: Region[] = regions.map((region) => region);
  for (const group of shallowGroups(table, regions, regionOf, mayBeRoof, rules)) {
    const surface = smoothSurface(table, pooled, regions, regionOf, group, rules);
    if (group.length === 1 && !lacksFit(table, regions[group[0]!]!, surface, rules)) continue;
    const facets = facetsOf(table, regions[group[0]!]!, surface, rules);
    if (facets.length === 0 || (facets.length === 1 && group.length === 1)) continue;
    replaceRegions(result, regionOf, group, facets);
    settleBorders(table, result, regionOf, facets, surface);
    for (const facet of facets) if (facet.voxels.length === 0) result[result.indexOf(facet)] = newRegion(facet.about);
  }
  return compacted(result, regionOf);
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
  for (const { first, second, step } of touchingPairs(table, regionOf, regions)) {
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
): number[] {
  const surface = group.flatMap((r) => regions[r]!.voxels);
  if (group.length === 1 && surface.length * table.size * table.size < 4 * SMALLEST_FACET) return surface;
  const { a, b, c } = regions[group[0]!]!;
  const { means } = table;
  const taken = new Set(surface);
  const near = new Int32Array(26);
  for (let at = 0; at < surface.length; at++) {
    const v = surface[at]!;
    const found = neighboursOf(table, v, near);
    for (let k = 0; k < found; k++) {
      const u = near[k]!;
      if (regionOf[u]! >= 0 || taken.has(u)) continue;
      const facing = Math.abs(a * pooled.normals[3 * u]! + b * pooled.normals[3 * u + 1]! + c * pooled.normals[3 * u + 2]!);
      if (facing < SHALLOW || pooled.thickness[u]! > 4 * noise * noise) continue;
      const dx = means[3 * u]! - means[3 * v]!;
      const dy = means[3 * u + 1]! - means[3 * v + 1]!;
      const dz = means[3 * u + 2]! - means[3 * v + 2]!;
      if (Math.abs(a * dx + b * dy + c * dz) > 2 * noise + 0.1 * Math.hypot(dx, dy, dz)) continue;
      taken.add(u);
      surface.push(u);
    }
  }
  return surface;
}

const blockSizeOf = (table: VoxelTable, voxelCount: number): number =>
  Math.max(4 * table.size, 0.8, Math.sqrt((voxelCount * table.size * table.size) / 1500));

/** True when blocks fitted one by one leave clearly less error than the one plane. */
function lacksFit(table: VoxelTable, region: Region, surface: readonly number[], rules: MergeRules): boolean {
  if (surface.length * table.size * table.size < 2 * SMALLEST_FACET) return false;
  const { moments } = cutIntoBlocks(table, surface, region.about, [region.a, region.b, region.c], blockSizeOf(table, surface.length));
  let gain = 0;
  let blocks = 0;
  let points = 0;
  const one = newRegion(region.about);
  for (const block of moments) {
    if (block[0]! < 12) continue;
    one.moments.set(block);
    gain += block[0]! * meanSquareAbout(table, one, region) - squaredError(block);
    points += block[0]!;
    blocks++;
  }
  const variance = rules.noise * rules.noise;
  return blocks > 1 && gain > 1.5 * 3 * (blocks - 1) * rules.inflation * variance && gain > (0.25 * rules.noise) ** 2 * points;
}

function facetsOf(table: VoxelTable, lead: Region, surface: readonly number[], rules: MergeRules): Region[] {
  const size = blockSizeOf(table, surface.length);
  const blocks = cutIntoBlocks(table, surface, lead.about, [lead.a, lead.b, lead.c], size);
  const variance = rules.inflation * rules.noise * rules.noise;
  const { groupOf, groups } = joinBlocks(blocks, (growth, smaller) =>
    Math.min(growth / (CHI_SQUARED_3 * variance), growth / (smaller * (NUISANCE * rules.noise) ** 2)) < 1,
  );
  const facets = Array.from({ length: groups }, () => newRegion(lead.about));
  surface.forEach((v, i) => {
    const block = blocks.blockOf[i]!;
    if (block < 0) return;
    const facet = facets[groupOf[block]!]!;
    facet.voxels.push(v);
    addMoments(table, v, lead.about, facet.moments);
  });
  const least = SMALLEST_FACET / (table.size * table.size);
  const kept = facets.filter((facet) => facet.voxels.length >= Math.max(least, 9));
  for (const facet of kept) refit(table, facet);
  return kept;
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

/**
 * Moves the borders of facets to where their planes cross. Of two facets the lower plane holds on both sides of a ridge,
 * the upper one on both sides of a valley; so which plane a voxel belongs to follows from the planes and not from
 * the voxel's own noise.
 */
function settleBorders(table: VoxelTable, regions: Region[], regionOf: Int32Array, facets: readonly Region[], surface: readonly number[]): void {
  const near = new Int32Array(26);
  const numbers = facets.map((facet) => regions.indexOf(facet));
  const isFacet = new Set(numbers);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let moved = 0;
    for (const v of sweep % 2 === 0 ? surface : [...surface].reverse()) {
      const own = regionOf[v]!;
      const found = neighboursOf(table, v, near);
      let best = own;
      for (let k = 0; k < found; k++) {
        const other = regionOf[near[k]!]!;
        if (other === best || !isFacet.has(other)) continue;
        if (best < 0 || prefers(table, regions[best]!, regions[other]!, v)) best = other;
      }
      if (best === own) continue;
      regionOf[v] = best;
      moved++;
    }
    collect(regions, regionOf, numbers, surface);
    for (const r of numbers) refitInside(table, regions, regionOf, r);
    if (moved === 0) break;
  }
}

/** True when voxel `v` belongs rather to `other` than to `own`. */
function prefers(table: VoxelTable, own: Region, other: Region, v: number): boolean {
  const gap = residualOf(table, own, v) - residualOf(table, other, v);
  const atOwn = gapAtCentroid(table, own, other, own);
  const atOther = gapAtCentroid(table, own, other, other);
  if (atOwn < 0 !== atOther < 0) return gap < 0 === atOther < 0;
  return Math.abs(residualOf(table, other, v)) < Math.abs(residualOf(table, own, v));
}

/** residual to `own` minus residual to `other` at the centre of gravity of one of them. */
function gapAtCentroid(table: VoxelTable, own: Region, other: Region, where: Region): number {
  const w = 1 / where.moments[0]!;
  const x = table.origin[0] + (table.x[where.about]! + 0.5) * table.size + where.moments[1]! * w;
  const y = table.origin[1] + (table.y[where.about]! + 0.5) * table.size + where.moments[2]! * w;
  const z = (table.level[where.about]! + 0.5) * table.size + where.moments[3]! * w;
  return (own.a - other.a) * x + (own.b - other.b) * y + (own.c - other.c) * z + own.d - other.d;
}

function collect(regions: readonly Region[], regionOf: Int32Array, numbers: readonly number[], surface: readonly number[]): void {
  for (const r of numbers) regions[r]!.voxels.length = 0;
  for (const v of surface) if (regionOf[v]! >= 0) regions[regionOf[v]!]!.voxels.push(v);
}

/** Fits a region to its voxels away from every border, as far as it has enough of them. */
export function refitInside(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, r: number): void {
  const region = regions[r]!;
  if (region.voxels.length < 3) return;
  const near = new Int32Array(26);
  region.moments.fill(0);
  let inside = 0;
  for (const v of region.voxels) {
    const found = neighboursOf(table, v, near);
    if (!isInterior(table, regionOf, region, v, near, found)) continue;
    addMoments(table, v, region.about, region.moments);
    inside++;
  }
  if (inside < 9) sumMembers(table, region);
  refit(table, region);
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
