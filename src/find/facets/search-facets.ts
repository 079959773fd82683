import { cos } from '../../geometry/same-math.ts';
import { squaresAboutBend } from '../planes/judge-curvature.ts';
import { CHI_SQUARED_3, NUISANCE, type MergeRules } from '../planes/merge-regions.ts';
import { NO_MARGIN } from '../planes/region-mask.ts';
import { copyRegion, newRegion, refit, residualOf, type Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { addMoments, type VoxelTable } from '../voxels/voxel-table.ts';
import { cutIntoBlocks, independentVariance, joinBlocks } from './facet-blocks.ts';
import { searchCuts } from './search-cuts.ts';
import { pruneFacets, settleBorders, straightenBorders } from './settle-facets.ts';
import { smoothed, type SmoothedSurface } from './smoothed-surface.ts';

/** A smaller facet is not looked for: in a shallow roof its pitch would be noise. [m²] */
export const SMALLEST_FACET = 1.5;
/** Falls of flat roofs are laid at up to some 4 per cent; a surface no steeper than this is searched for facets one by one. */
const NEAR_LEVEL = cos((4 * Math.PI) / 180);

/** The voxels of a surface, smoothed when that is first needed. */
export interface SettledSurface {
  readonly voxels: readonly number[];
  readonly placeOf: Int32Array;
  even: SmoothedSurface | null;
}

/**
 * The facets that describe a smooth surface best: the group as it is, or others.
 *
 * @param group  Regions that make up the surface; the largest first.
 * @returns Null where the surface is one curve.
 */
export function findFacets(table: VoxelTable, group: readonly Region[], settled: SettledSurface, rules: MergeRules): Region[] | null {
  const falls = findFalls(table, group, settled, rules);
  if (falls) return falls;
  const variance = surfaceVariance(table, settled.voxels, group[0]!, patchSize(table, settled.voxels, PATCH_VOXELS), rules);
  return searchFacets(table, group, settled, variance, rules);
}

/**
 * Looks for facets at a price that follows from the variance of the surface.
 *
 * @param variance  Of a mean of points times their number. [m²]
 * @returns Null where the surface is one curve.
 */
function searchFacets(table: VoxelTable, group: readonly Region[], settled: SettledSurface, variance: number, rules: MergeRules): Region[] | null {
  const { voxels: surface, placeOf } = settled;
  // What one more plane costs in squared error before it is believed.
  const price = CHI_SQUARED_3 * 3 * variance;
  let best = group.map(copyRegion);
  let least = scoreOf(table, best, surface, price, rules);
  for (const size of blockSizes(table, surface.length)) {
    const facets = facetsOf(table, group, surface, size, CHI_SQUARED_3 * variance, rules);
    if (facets.length === 0 || (facets.length === 1 && group.length === 1)) continue;
    const even = (settled.even ??= smoothed(table, surface, placeOf));
    settleBorders(table, facets, even, variance);
    pruneFacets(table, facets, even, variance, price);
    straightenBorders(table, facets, even, rules.noise);
    const sound = facets.filter((facet) => facet.voxels.length > 0);
    const score = scoreOf(table, sound, surface, price, rules);
    if (score >= least) continue;
    least = score;
    best = sound;
  }
  if (isNearLevel(group)) {
    const even = (settled.even ??= smoothed(table, surface, placeOf));
    best = searchCuts(table, best, { surface, even, variance, price, rules, score: (facets) => scoreOf(table, facets, surface, price, rules) });
  }
  // A quadratic surface has twice the numbers of a plane. Where it does as well the surface is curved, and more strips say no more.
  const bent = best.length > group.length ? squaresAboutBend(table, surface, rules.noise) : null;
  return bent !== null && bent + 2 * price < least ? null : best;
}

const isNearLevel = (group: readonly Region[]): boolean => group[0]!.c >= NEAR_LEVEL;

/**
 * Falls of a thin cloud: the wide patches its large voxels ask for lie over the lines between falls, and take the falls for
 * noise. Small patches show too little of a roof's unevenness, so what they find stands only where nothing but noise is left.
 *
 * @returns Null where the cloud is not thin, or no falls are found.
 */
function findFalls(table: VoxelTable, group: readonly Region[], settled: SettledSurface, rules: MergeRules): Region[] | null {
  if (!isNearLevel(group) || table.size < NO_MARGIN) return null;
  const { voxels } = settled;
  const size = patchSize(table, voxels, FEWEST_PATCH_VOXELS);
  const facets = searchFacets(table, group, settled, surfaceVariance(table, voxels, group[0]!, size, rules), rules);
  return facets && facets.length > group.length && varianceLeft(table, facets, size) < MOST_LEFT * rules.noise * rules.noise ? facets : null;
}

/** Variance of the means of patches about their facets, times their points. [m²] */
function varianceLeft(table: VoxelTable, facets: readonly Region[], size: number): number {
  let squares = 0;
  let freedom = 0;
  for (const facet of facets) {
    const { count, points, h } = cutIntoBlocks(table, facet.voxels, facet, size);
    for (let b = 0; b < count; b++) squares += points[b]! * h[b]! * h[b]!;
    freedom += count - 3;
  }
  return freedom > 0 ? squares / freedom : Infinity;
}

/** Block edges to try: small ones follow small facets, large ones see small falls. [m] */
function blockSizes(table: VoxelTable, voxelCount: number): number[] {
  const area = voxelCount * table.size * table.size;
  const least = Math.max(3 * table.size, Math.sqrt(area / 1200));
  return [0.8, 1.2, 1.8, 2.7].filter((size) => size >= least && size * size * 6 < area).concat(least > 2.7 ? [least] : []);
}

/** Edge of the patches whose means tell how much of the noise is independent: in voxels, and where few have to do. [-] */
const PATCH_VOXELS = 4;
const FEWEST_PATCH_VOXELS = 2;
/** No smaller patch. [m] */
const PATCH = 0.8;
/**
 * Variance that falls may leave in the means of patches, over that of as many independent points: made-up falls leave 2 to 2.6,
 * flat roofs that pond 3.7 and more. [-]
 */
const MOST_LEFT = 3;

const patchSize = (table: VoxelTable, surface: readonly number[], voxels: number): number =>
  Math.max(voxels * table.size, PATCH, Math.sqrt((surface.length * table.size * table.size) / 1200));

function surfaceVariance(table: VoxelTable, surface: readonly number[], lead: Region, size: number, { noise, inflation }: MergeRules): number {
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
