import { fitMoments, MOMENT_FIT_SIZE } from '../../geometry/fit-moments.ts';
import { addRegionMoments, meanSquareAbout, newRegion, refit, residualOf, type Region } from './region.ts';
import { keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';
import { acos, cos } from '../../geometry/same-math.ts';

export interface MergeRules {
  /** Noise of the cloud, one sigma. [m] */
  readonly noise: number;
  /** How many points share one independent error: the square of the correlation factor F. [-] */
  readonly inflation: number;
}

/** 99.9 % of chi-squared with 3 degrees of freedom: the three numbers of a plane. */
export const CHI_SQUARED_3 = 16.27;
/** Share of the noise below which a difference is never worth a border. */
export const NUISANCE = 0.35;

/**
 * Neighbours without a step that differ by less than any fall that is built are one plane that sags: falls of 1 % at right
 * angles differ by 0.8°, and on a pitched roof nobody builds a bend of 2.5°; old slopes sag by as much.
 */
const SAG_FLAT = cos((0.7 * Math.PI) / 180);
const SAG_PITCHED = cos((2.5 * Math.PI) / 180);
const PITCHED = cos((8 * Math.PI) / 180);
/**
 * What one plane for both may leave of the residuals of either: so many multiples of the noise more, as root sum of squares,
 * or so many times as much where they are rough already. [-]
 */
const MOST_ADDED = 1.5;
const MOST_GROWTH = 2;
/** What sag may add to the residuals of either, as a factor. [-] */
const SAG_RMS = 1.6;
/** A patch so many times rougher than the other, and than the noise, is no part of it: a plant, the foot of a wall. [-] */
const ROUGHER = 2;

/** Planes that touch along less than this share of the side of the smaller one meet in a corner or across a gap. */
const SHORTEST_CONTACT = 0.2;
/** Pairs of voxels side by side that one voxel of border makes: each has three neighbours beyond, counted from both sides. */
const CONTACTS_A_VOXEL = 6;

const pairKey = (a: number, b: number, total: number): number => Math.min(a, b) * total + Math.max(a, b);

/** Two regions that touch. */
export interface RegionPair {
  readonly first: number;
  readonly second: number;
  /** Pairs of voxels side by side. */
  contact: number;
  /** Mean distance of the voxels of contact from the other one's plane. [m] */
  step: number;
  /** Least such distance: near 0 where two planes meet in a line, the height of the step where one stands above the other. [m] */
  nearest: number;
}

/**
 * Joins neighbouring regions whose planes the data cannot tell apart: the growth of the squared error caused by one
 * plane for both, over the variance of independent errors, is chi-squared with 3 degrees of freedom when they are one
 * plane. Differences far below the noise are never worth a border, whatever their significance.
 *
 * @returns The regions that are left; `regionOf` is renumbered.
 */
export function mergeRegions(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, rules: MergeRules): Region[] {
  const owner = regions.map((_, r) => r);
  const current: (Region | null)[] = [...regions];
  const find = (r: number): number => {
    let root = r;
    while (owner[root] !== root) root = owner[root]!;
    return root;
  };
  // Nobody asks for the planes of walls.
  let pairs = touchingPairs(table, regionOf, regions, regions.map((region) => region.c > 0.2));
  for (let changed = true; changed; ) {
    changed = false;
    const contacts = new Map<number, number>();
    for (const pair of pairs) {
      const key = pairKey(find(pair.first), find(pair.second), regions.length);
      contacts.set(key, (contacts.get(key) ?? 0) + pair.contact);
    }
    const wishes: { cost: number; first: number; second: number }[] = [];
    for (const [key, contact] of contacts) {
      const first = Math.floor(key / regions.length);
      const second = key % regions.length;
      const smaller = Math.min(current[first]!.voxels.length, current[second]!.voxels.length);
      if (first === second || contact < CONTACTS_A_VOXEL * SHORTEST_CONTACT * Math.sqrt(smaller)) continue;
      const cost = costOfJoining(table, current[first]!, current[second]!, rules);
      if (cost < 1) wishes.push({ cost, first, second });
    }
    wishes.sort((a, b) => a.cost - b.cost || a.first - b.first || a.second - b.second);
    const touched = new Set<number>();
    for (const { first, second } of wishes) {
      if (touched.has(first) || touched.has(second)) continue;
      touched.add(first).add(second);
      current[first] = joined(table, current[first]!, current[second]!, rules);
      current[second] = null;
      owner[second] = first;
      changed = true;
    }
    pairs = pairs.filter((pair) => find(pair.first) !== find(pair.second));
  }
  return renumber(current, regionOf, find);
}

/**
 * All pairs of regions with voxels side by side, in the order of their voxels.
 *
 * @param isWanted  Regions whose pairs are asked for; the rest costs no time.
 */
export function touchingPairs(
  table: VoxelTable,
  regionOf: Int32Array,
  regions: readonly Region[],
  isWanted: readonly boolean[],
): RegionPair[] {
  const pairs = new Map<number, RegionPair>();
  const { first, list } = keptNeighbours(table);
  const wanted = Uint8Array.from(isWanted, (is) => (is ? 1 : 0));
  for (let v = 0; v < table.count; v++) {
    const own = regionOf[v]!;
    if (own < 0 || wanted[own] === 0) continue;
    let pair: RegionPair | undefined;
    let last = -1;
    for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
      const other = regionOf[list[k]!]!;
      if (other < 0 || other === own || wanted[other] === 0) continue;
      if (other !== last || !pair) {
        last = other;
        const key = pairKey(own, other, regions.length);
        pair = pairs.get(key);
        if (!pair) pairs.set(key, (pair = { first: Math.min(own, other), second: Math.max(own, other), contact: 0, step: 0, nearest: Infinity }));
      }
      pair.contact++;
      const off = Math.abs(residualOf(table, regions[other]!, v));
      pair.step += off;
      if (off < pair.nearest) pair.nearest = off;
    }
  }
  for (const pair of pairs.values()) pair.step /= pair.contact;
  return [...pairs.values()];
}

/** Growth of the squared error when one plane stands for two, over the variance of independent errors: chi-squared with 3 degrees of freedom if they are one. */
export function chiSquaredOfJoining(table: VoxelTable, first: Region, second: Region, { noise, inflation }: MergeRules): number {
  return growthOf(joinedMoments(table, first, second), first, second) / (inflation * noise * noise);
}

/** [m²] */
function growthOf(both: Region, first: Region, second: Region): number {
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(both.moments, fit);
  return Math.max(0, both.moments[0]! * fit[3]! - first.moments[0]! * first.sigma ** 2 - second.moments[0]! * second.sigma ** 2);
}

/** Below 1 when the two may be one plane; the smaller the surer. */
function costOfJoining(table: VoxelTable, first: Region, second: Region, { noise, inflation }: MergeRules): number {
  const facing = Math.abs(first.a * second.a + first.b * second.b + first.c * second.c);
  if (facing < 0.9 || Math.max(first.sigma, second.sigma) > ROUGHER * Math.max(Math.min(first.sigma, second.sigma), noise)) return Infinity;
  const both = joinedMoments(table, first, second);
  refit(table, both);
  const n1 = first.moments[0]!;
  const n2 = second.moments[0]!;
  const growth = growthOf(both, first, second);
  const smaller = n1 < n2 ? first : second;
  const other = smaller === first ? second : first;
  const rms = Math.sqrt(meanSquareAbout(table, smaller, both));
  const looser = Math.sqrt(meanSquareAbout(table, other, both));
  if (rms > mostAfter(smaller, noise) || looser > mostAfter(other, noise)) return Infinity;
  // Large real planes are never quite flat.
  const sag = smaller.c < PITCHED ? SAG_PITCHED : SAG_FLAT;
  if (facing > sag && rms < SAG_RMS * Math.max(smaller.sigma, 0.8 * noise) && looser < SAG_RMS * Math.max(other.sigma, 0.8 * noise)) {
    return acos(Math.min(1, facing)) / acos(sag);
  }
  const significance = growth / (CHI_SQUARED_3 * inflation * noise * noise);
  const nuisance = growth / (Math.min(n1, n2) * (NUISANCE * noise) ** 2);
  return Math.min(significance, nuisance);
}

/** [m] */
const mostAfter = ({ sigma }: Region, noise: number): number => Math.max(MOST_GROWTH * sigma, Math.hypot(sigma, MOST_ADDED * noise));

function joinedMoments(table: VoxelTable, first: Region, second: Region): Region {
  const both = newRegion(first.about);
  both.moments.set(first.moments);
  addRegionMoments(table, second, first.about, both.moments);
  return both;
}

function joined(table: VoxelTable, first: Region, second: Region, rules: MergeRules): Region {
  const both = joinedMoments(table, first, second);
  both.joins = first.joins + second.joins + 1;
  both.mostChiSquared = Math.max(first.mostChiSquared, second.mostChiSquared, chiSquaredOfJoining(table, first, second, rules));
  refit(table, both);
  for (const v of first.voxels) both.voxels.push(v);
  for (const v of second.voxels) both.voxels.push(v);
  return both;
}

function renumber(current: readonly (Region | null)[], regionOf: Int32Array, find: (r: number) => number): Region[] {
  const kept: Region[] = [];
  const numberOf = new Int32Array(current.length).fill(-1);
  current.forEach((region, r) => {
    if (!region) return;
    numberOf[r] = kept.length;
    kept.push(region);
  });
  for (let v = 0; v < regionOf.length; v++) if (regionOf[v]! >= 0) regionOf[v] = numberOf[find(regionOf[v]!)]!;
  return kept;
}

