import { newRegion, type Region } from './region.ts';
import { maskOf, refitInside, type RegionMask } from './region-mask.ts';
import { compacted } from '../facets/split-facets.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

/** A part counts as a plane of its own from this slope area up. [m²] */
const SMALLEST_PART = 1.5;
/** Two falls that touch in a corner: what is left at the corner, in parts of the height of the lower of the two. */
const FALL_NECK = 0.5;
/** An upstand between two houses: its greatest width, and what may be left of the plane under it. [m], [-] */
const WIDEST_UPSTAND = 0.9;
const WALL_NECK = 0.45;
/** Plane on either side that an upstand is measured against. [m] */
const BESIDE_UPSTAND = 1.2;
/** Voxels larger than this do not show an upstand as a gap. [m] */
const COARSEST_FOR_UPSTANDS = 0.35;
/** Flatter planes have no line of slope to run an upstand along. cos 8° */
const PITCHED = cos((8 * Math.PI) / 180);

/**
 * Cuts regions where only a neck holds them together: two houses of one plane parted by an upstand that stops short of
 * the eave, two falls of a flat roof that touch in a corner. Both show in how much of the slope is covered along the
 * level direction of the plane: an upstand as a narrow gap between two full heights, a corner as a low point between
 * two summits. A dormer leaves a wide gap, a chimney a shallow one.
 *
 * @param isFall  Regions that are falls of a shallow roof.
 */
export function splitNecks(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  mayBeRoof: readonly boolean[],
  isFall: (region: Region) => boolean,
): Region[] {
  const result = [...regions];
  regions.forEach((region, r) => {
    if (!mayBeRoof[r] || region.c < 0.5) return;
    const fall = isFall(region);
    if (!fall && (region.c > PITCHED || table.size > COARSEST_FOR_UPSTANDS)) return;
    const mask = maskOf(table, region, true);
    const profile = profileOf(region, mask);
    const least = (SMALLEST_PART * region.c) / (table.size * table.size);
    const cuts = fall ? cornerCuts(profile, least) : upstandCuts(profile.counts, least, table.size);
    if (cuts.length === 0) return;
    const parts = [region, ...cuts.map(() => newRegion(region.about))];
    const numbers = parts.map((part, i) => (i === 0 ? r : result.push(part) - 1));
    const voxels = [...region.voxels];
    region.voxels.length = 0;
    voxels.forEach((v, i) => {
      const bin = profile.binOf(mask.cellOf[i]!);
      const part = cuts.filter((cut) => bin >= cut).length;
      parts[part]!.voxels.push(v);
      regionOf[v] = numbers[part]!;
    });
    for (const part of parts) refitInside(table, part);
  });
  return compacted(result, regionOf);
}

interface Profile {
  /** Cells of the mask in each bin one cell wide along the level direction of the plane. */
  readonly counts: Float64Array;
  /** From the lowest to the highest cell of each bin, along the slope; what stands on the plane leaves no dip here. */
  readonly spans: Float64Array;
  binOf(cell: number): number;
}

function profileOf(region: Region, { columns, depth, cellOf }: RegionMask): Profile {
  const level = Math.hypot(region.a, region.b);
  const [sx, sy] = level > 1e-9 ? [-region.b / level, region.a / level] : [1, 0];
  const along = (cell: number): number => (cell % columns) * sx + Math.floor(cell / columns) * sy;
  let low = Infinity;
  let high = -Infinity;
  for (const cell of cellOf) {
    const at = along(cell);
    if (at < low) low = at;
    if (at > high) high = at;
  }
  const binOf = (cell: number): number => Math.floor(along(cell) - low);
  const counts = new Float64Array(Math.floor(high - low) + 1);
  const first = new Float64Array(counts.length).fill(Infinity);
  const last = new Float64Array(counts.length).fill(-Infinity);
  const seen = new Uint8Array(depth.length);
  for (const cell of cellOf) {
    if (depth[cell] === 0 || seen[cell]) continue;
    seen[cell] = 1;
    const bin = binOf(cell);
    const across = Math.floor(cell / columns) * sx - (cell % columns) * sy;
    counts[bin]!++;
    if (across < first[bin]!) first[bin] = across;
    if (across > last[bin]!) last[bin] = across;
  }
  const spans = counts.map((count, bin) => (count > 0 ? last[bin]! - first[bin]! + 1 : 0));
  return { counts, spans, binOf };
}

/** Bins at which a new part begins because an upstand stands there. */
function upstandCuts(counts: Float64Array, least: number, size: number): number[] {
  const widest = Math.ceil(WIDEST_UPSTAND / size);
  const beside = Math.max(3, Math.round(BESIDE_UPSTAND / size));
  const cuts: number[] = [];
  let begin = 0;
  for (let i = beside; i + beside < counts.length; i++) {
    for (let width = 1; width <= widest && i + width + beside <= counts.length; width++) {
      const gap = Math.max(...counts.subarray(i, i + width));
      const around = Math.min(median(counts.subarray(i - beside, i)), median(counts.subarray(i + width, i + width + beside)));
      if (gap > WALL_NECK * around) break;
      if (sum(counts, begin, i) < least || sum(counts, i + width, counts.length) < least) break;
      // The middle of the whole gap, as far as it stays empty.
      let end = i + width;
      while (end < i + widest && counts[end]! <= WALL_NECK * around) end++;
      cuts.push(Math.floor((i + end) / 2));
      begin = end;
      i = end;
      break;
    }
  }
  return cuts;
}

/** Bins at which a new part begins because two falls touch there. */
function cornerCuts({ counts: raw, spans }: Profile, least: number): number[] {
  const counts = spans.map((_, i) => sum(spans, Math.max(0, i - 1), Math.min(raw.length, i + 2)) / 3);
  const cuts: number[] = [];
  const search = (begin: number, end: number): void => {
    let best = -1;
    let lowest = FALL_NECK;
    for (let i = begin + 1; i < end - 1; i++) {
      const left = Math.max(...counts.subarray(begin, i));
      const right = Math.max(...counts.subarray(i + 1, end));
      const share = counts[i]! / Math.min(left, right);
      if (share >= lowest || sum(raw, begin, i) < least || sum(raw, i, end) < least) continue;
      lowest = share;
      best = i;
    }
    if (best < 0) return;
    const cut = middleOfLow(counts, best, begin, end);
    search(begin, cut);
    cuts.push(cut);
    search(cut, end);
  };
  search(0, counts.length);
  return cuts;
}

/** Two falls that part slowly are hard to tell from what lies between them for a while: they part in the middle of that. */
function middleOfLow(counts: Float64Array, best: number, begin: number, end: number): number {
  const isLow = (i: number): boolean => counts[i]! <= counts[best]! + 1;
  let [first, last] = [best, best];
  while (first - 1 > begin && isLow(first - 1)) first--;
  while (last + 1 < end - 1 && isLow(last + 1)) last++;
  return Math.round((first + last) / 2);
}

function sum(counts: Float64Array, begin: number, end: number): number {
  let total = 0;
  for (let i = begin; i < end; i++) total += counts[i]!;
  return total;
}

const median = (counts: Float64Array): number => counts.slice().sort()[counts.length >> 1]!;
