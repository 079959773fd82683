import { bestCut, squaredErrorOf, type FacetCut } from './cut-facets.ts';
import type { MergeRules } from '../planes/merge-regions.ts';
import { addRegionMoments, copyRegion, newRegion, refit, type Region } from '../planes/region.ts';
import { pruneFacets, settleBorders, straightenBorders, worthsOf } from './settle-facets.ts';
import { facetsByPlace, type SmoothedSurface } from './smoothed-surface.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

/** A smaller part of a facet is not cut off. [m²] */
const SMALLEST_PART = 1.5;
/** A cut is tried when it saves this share of a plane's price: settling the borders afterwards saves more. */
const WORTH_TRYING = 0.25;
/** Tries are bounded by the voxels they settle, so that a large roof costs no more than a second. */
const VOXELS_SETTLED = 1.5e6;
const MOST_TRIES = 24;
/** The most promising changes come first: after so many that were no better the rest is not tried. */
const MOST_FAILURES = 5;

/** Facets that may be left out in the end, even when the tries are spent. */
const LEAST_REMOVALS = 2;
/** A facet is tried without when the others would leave less than this more of its squared error: settling saves much of it. [prices of a plane] */
const DOUBTFUL = 2.5;

export interface FacetSearch {
  readonly surface: readonly number[];
  readonly even: SmoothedSurface;
  readonly variance: number;
  /** Squared error that one more plane must save. [points × m²] */
  readonly price: number;
  readonly rules: MergeRules;
  /** Squared error left, and the price of each plane: the least is best. */
  readonly score: (facets: readonly Region[]) => number;
}

/** One way to change a set of facets: those that go, and the two that come, or none. */
interface Change {
  readonly without: readonly Region[];
  readonly cut: FacetCut | null;
  readonly gain: number;
}

/**
 * Looks for falls that joining blocks has missed, one change at a time: a facet cut in two, two neighbours cut anew, or one left out. A
 * change that scores better once all borders have settled is kept, and the search goes on from there.
 */
export function searchCuts(table: VoxelTable, facets: readonly Region[], search: FacetSearch): Region[] {
  let best = [...facets];
  let least = search.score(best);
  let tries = Math.max(2, Math.min(MOST_TRIES, Math.floor(VOXELS_SETTLED / search.surface.length)));
  const tryAll = (changes: readonly Change[]): boolean => {
    for (const change of changes) {
      if (tries-- <= 0) break;
      const settled = settle(table, best, change, search);
      const score = search.score(settled);
      if (score >= least) continue;
      [best, least] = [settled, score];
      return true;
    }
    return false;
  };
  while (tries > 0 && tryAll(changesOf(table, best, search).slice(0, MOST_FAILURES)));
  tries = Math.max(tries, LEAST_REMOVALS);
  while (tries > 0 && tryAll(removalsOf(best, search)));
  return best;
}

/** All changes worth a try, the most promising first. */
function changesOf(table: VoxelTable, facets: readonly Region[], { price, even }: FacetSearch): Change[] {
  const fewest = Math.max(9, SMALLEST_PART / (table.size * table.size));
  const changes: Change[] = [];
  const errorOf = new Map<Region, number>();
  for (const facet of facets) {
    const cut = bestCut(table, facet, fewest);
    errorOf.set(facet, cut ? cut.whole : squaredErrorOf(table, facet));
    if (cut && cut.gain > WORTH_TRYING * price) changes.push({ without: [facet], cut, gain: cut.gain - price });
  }
  for (const [a, b] of neighboursAmong(facets, even)) {
    const both = joined(table, a, b);
    const cut = bestCut(table, both, fewest);
    if (!cut) continue;
    const gain = cut.gain - (cut.whole - errorOf.get(a)! - errorOf.get(b)!);
    if (gain > 0) changes.push({ without: [a, b], cut, gain });
  }
  return changes.sort((first, second) => second.gain - first.gain);
}

/** Facets that the others explain nearly as well before their borders have settled, the least useful first. */
function removalsOf(facets: readonly Region[], { price, even }: FacetSearch): Change[] {
  if (facets.length < 3) return [];
  const most = DOUBTFUL * price;
  const removals = worthsOf(facets, even, most).map((worth, f): Change => ({ without: [facets[f]!], cut: null, gain: price - worth }));
  return removals.filter(({ gain }) => price - gain < most).sort((first, second) => second.gain - first.gain);
}

function settle(table: VoxelTable, facets: readonly Region[], { without, cut }: Change, { even, variance, price, rules }: FacetSearch): Region[] {
  const tried = [...facets.filter((facet) => !without.includes(facet)).map(copyRegion), ...(cut ? [copyRegion(cut.left), copyRegion(cut.right)] : [])];
  settleBorders(table, tried, even, variance);
  pruneFacets(table, tried, even, variance, price);
  straightenBorders(table, tried, even, rules.noise);
  return tried.filter((facet) => facet.voxels.length > 0);
}

function neighboursAmong(facets: readonly Region[], even: SmoothedSurface): [Region, Region][] {
  const { first, neighbours } = even;
  const facetOf = facetsByPlace(facets, even);
  const touching = new Set<number>();
  for (let i = 0; i < facetOf.length; i++) {
    const own = facetOf[i]!;
    if (own < 0) continue;
    for (let at = first[i]!; at < first[i + 1]!; at++) {
      const other = facetOf[neighbours[at]!]!;
      if (other > own) touching.add(own * facets.length + other);
    }
  }
  return [...touching].sort((a, b) => a - b).map((key) => [facets[Math.floor(key / facets.length)]!, facets[key % facets.length]!]);
}

function joined(table: VoxelTable, a: Region, b: Region): Region {
  const both = newRegion(a.about);
  both.voxels.push(...a.voxels, ...b.voxels);
  both.moments.set(a.moments);
  addRegionMoments(table, b, a.about, both.moments);
  refit(table, both);
  return both;
}
