import { cutIntoBlocks, independentVariance, joinBlocks } from './facet-blocks.ts';
import { CHI_SQUARED_3, NUISANCE, touchingPairs, type MergeRules } from './merge-regions.ts';
import type { PooledNormals } from './pooled-normals.ts';
import { refitInside } from './region-mask.ts';
import { newRegion, refit, residualOf, type Region } from './region.ts';
import { MOMENTS } from './sum-voxels.ts';
import { addMoments, centreX, centreY, centreZ, neighboursOf, type VoxelTable } from './voxel-table.ts';

/** Planes that meet at less than this may have been grown as one, or cut in the wrong place. */
const SHALLOW = Math.cos((8 * Math.PI) / 180);
/** A smaller facet is not looked for: in a shallow roof its pitch would be noise. [m²] */
const SMALLEST_FACET = 1.5;
/** Rounds of moving borders; a border a metre off needs about ten. */
const SWEEPS = 14;
/** What one agreeing neighbour is worth against the data. [-] */
const POTTS = 0.5;

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
    const even = smoothed(table, surface, placeOf);
    const lead = regions[group[0]!]!;
    const variance = surfaceVariance(table, surface, lead, rules);
    // What one more plane costs in squared error before it is believed.
    const price = CHI_SQUARED_3 * 1.5 * variance;
    let best = group.map((r) => copyOf(regions[r]!));
    let least = scoreOf(table, best, surface, price, rules);
    for (const size of blockSizes(table, surface.length)) {
      const facets = facetsOf(table, regions, group, surface, size, CHI_SQUARED_3 * variance, rules);
      if (facets.length === 0 || (facets.length === 1 && group.length === 1)) continue;
      settleBorders(table, facets, even, variance);
      pruneFacets(table, facets, even, variance, price);
      straightenBorders(table, facets, even, rules.noise);
      const sound = facets.filter((facet) => facet.voxels.length > 0);
      const score = scoreOf(table, sound, surface, price, rules);
      if (score >= least) continue;
      least = score;
      best = sound;
    }
    for (const v of surface) placeOf[v] = -1;
    replaceRegions(result, regionOf, group, best);
    if (best.length > 2) for (const v of surface) falls.add(v);
  }
  return { regions: compacted(result, regionOf), falls };
}

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

/** A surface with each voxel's neighbours and its height smoothed over five by five voxels. */
interface SmoothedSurface {
  readonly voxels: readonly number[];
  /** Place of a voxel in `voxels`, -1 for one that is not in it. */
  readonly placeOf: Int32Array;
  /** Neighbours of voxel i as places in `voxels`: `neighbours[first[i]]` up to `neighbours[first[i + 1]]`. */
  readonly first: Uint32Array;
  readonly neighbours: Uint32Array;
  /** Smoothed means, `n × 3`. [m] */
  readonly means: Float64Array;
  /** Points behind each smoothed mean. */
  readonly points: Float64Array;
}

function smoothed(table: VoxelTable, voxels: readonly number[], placeOf: Int32Array): SmoothedSurface {
  voxels.forEach((v, i) => (placeOf[v] = i));
  const first = new Uint32Array(voxels.length + 1);
  const list: number[] = [];
  const near = new Int32Array(26);
  voxels.forEach((v, i) => {
    const found = neighboursOf(table, v, near);
    for (let k = 0; k < found; k++) {
      const place = placeOf[near[k]!]!;
      if (place >= 0) list.push(place);
    }
    first[i + 1] = list.length;
  });
  const neighbours = Uint32Array.from(list);
  let sums = new Float64Array(4 * voxels.length);
  voxels.forEach((v, i) => {
    const n = table.sums[MOMENTS * v]!;
    sums[4 * i] = n;
    for (let k = 0; k < 3; k++) sums[4 * i + 1 + k] = n * table.means[3 * v + k]!;
  });
  let spread = 1;
  for (let round = 0; round < 2; round++) {
    const wider = sums.slice();
    for (let i = 0; i < voxels.length; i++) {
      for (let at = first[i]!; at < first[i + 1]!; at++) {
        for (let k = 0; k < 4; k++) wider[4 * i + k]! += sums[4 * neighbours[at]! + k]!;
      }
    }
    sums = wider;
    spread *= 3;
  }
  const means = new Float64Array(3 * voxels.length);
  const points = new Float64Array(voxels.length);
  for (let i = 0; i < voxels.length; i++) {
    for (let k = 0; k < 3; k++) means[3 * i + k] = sums[4 * i + 1 + k]! / sums[4 * i]!;
    // Two rounds count a voxel up to nine times; what counts as independent is the area covered.
    points[i] = sums[4 * i]! / spread;
  }
  return { voxels, placeOf, first, neighbours, means, points };
}

/**
 * Moves the borders of facets, voxel by voxel, to where the smoothed surface changes from one plane to the next
 * (iterated conditional modes, Besag 1986, with a Potts term): a lone voxel's height says nothing about a fall of one per
 * cent, a square metre's does.
 */
function settleBorders(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, variance: number): void {
  const { voxels, placeOf, first, neighbours, means, points } = surface;
  const facetOf = new Int32Array(voxels.length).fill(-1);
  facets.forEach((facet, f) => facet.voxels.forEach((v) => placeOf[v]! >= 0 && (facetOf[placeOf[v]!] = f)));
  const votes = new Int32Array(facets.length);
  // Voxels deep inside a facet are looked at again only when something beside them moved.
  const active = new Uint8Array(voxels.length).fill(1);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let moved = 0;
    for (let step = 0; step < voxels.length; step++) {
      const i = sweep % 2 === 0 ? step : voxels.length - 1 - step;
      if (!active[i]) continue;
      const own = facetOf[i]!;
      let others = false;
      for (let at = first[i]!; at < first[i + 1]!; at++) {
        const f = facetOf[neighbours[at]!]!;
        if (f >= 0) votes[f]!++;
        if (f >= 0 && f !== own) others = true;
      }
      active[i] = others ? 1 : 0;
      let best = own;
      if (others) {
        let least = own < 0 ? Infinity : costOf(facets[own]!, votes[own]!);
        for (let at = first[i]!; at < first[i + 1]!; at++) {
          const f = facetOf[neighbours[at]!]!;
          if (f < 0 || f === best) continue;
          const cost = costOf(facets[f]!, votes[f]!);
          if (cost >= least) continue;
          least = cost;
          best = f;
        }
      }
      for (let at = first[i]!; at < first[i + 1]!; at++) {
        const f = facetOf[neighbours[at]!]!;
        if (f >= 0) votes[f] = 0;
      }
      if (best === own) continue;
      facetOf[i] = best;
      moved++;
      for (let at = first[i]!; at < first[i + 1]!; at++) active[neighbours[at]!] = 1;

      function costOf({ a, b, c, d }: Region, agreeing: number): number {
        const residual = a * means[3 * i]! + b * means[3 * i + 1]! + c * means[3 * i + 2]! + d;
        return (points[i]! * residual * residual) / (2 * variance) - POTTS * agreeing;
      }
    }
    const settled = moved < 0.002 * voxels.length;
    // Planes follow their borders every third sweep: a fit looks at every voxel, a sweep at few.
    if (settled || sweep % 3 === 0 || sweep === SWEEPS - 1) gatherFacets(table, facets, facetOf, voxels);
    if (settled) break;
  }
}

/**
 * Takes away facets that the planes around them explain nearly as well (strips of blocks that lay across a line), the
 * least useful first, and settles the borders anew.
 */
function pruneFacets(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, variance: number, price: number): void {
  const { placeOf, means, points } = surface;
  const squareOf = ({ a, b, c, d }: Region, i: number): number =>
    (a * means[3 * i]! + b * means[3 * i + 1]! + c * means[3 * i + 2]! + d) ** 2;
  for (;;) {
    const left = facets.filter((facet) => facet.voxels.length > 0);
    if (left.length < 2) return;
    let worst: Region | null = null;
    let least = price;
    for (const facet of left) {
      let worth = 0;
      for (const v of facet.voxels) {
        const i = placeOf[v]!;
        let other = Infinity;
        for (const candidate of left) if (candidate !== facet) other = Math.min(other, squareOf(candidate, i));
        worth += points[i]! * (other - squareOf(facet, i));
      }
      if (worth >= least) continue;
      least = worth;
      worst = facet;
    }
    if (!worst) return;
    worst.voxels.length = 0;
    settleBorders(table, left.filter((facet) => facet !== worst), surface, variance);
  }
}

/**
 * Straightens settled borders to where the planes cross: of two facets the lower plane holds on both sides of a ridge,
 * the upper one on both sides of a valley, so near the line the planes decide and not the noise. Voxels that speak
 * clearly for their own plane are left alone.
 */
function straightenBorders(table: VoxelTable, facets: readonly Region[], { voxels, placeOf, first, neighbours, means }: SmoothedSurface, noise: number): void {
  const facetOf = new Int32Array(voxels.length).fill(-1);
  facets.forEach((facet, f) => facet.voxels.forEach((v) => (facetOf[placeOf[v]!] = f)));
  const bends = facets.map((own) => facets.map((other) => bendBetween(table, own, other, noise)));
  const gap = (f: number, g: number, i: number): number => {
    const own = facets[f]!;
    const other = facets[g]!;
    return (own.a - other.a) * means[3 * i]! + (own.b - other.b) * means[3 * i + 1]! + (own.c - other.c) * means[3 * i + 2]! + own.d - other.d;
  };
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let moved = 0;
    for (let step = 0; step < voxels.length; step++) {
      const i = sweep % 2 === 0 ? step : voxels.length - 1 - step;
      let best = facetOf[i]!;
      for (let at = first[i]!; at < first[i + 1]! && best >= 0; at++) {
        const other = facetOf[neighbours[at]!]!;
        if (other < 0 || other === best) continue;
        const bend = bends[best]![other]!;
        const here = gap(best, other, i);
        if (bend !== 0 && here * bend < 0 && Math.abs(here) < noise) best = other;
      }
      if (best === facetOf[i]) continue;
      facetOf[i] = best;
      moved++;
    }
    if (moved === 0) break;
  }
  gatherFacets(table, facets, facetOf, voxels);
}

/** Hands the voxels to their facets and fits them anew. */
function gatherFacets(table: VoxelTable, facets: readonly Region[], facetOf: Int32Array, voxels: readonly number[]): void {
  for (const facet of facets) facet.voxels.length = 0;
  voxels.forEach((v, i) => facetOf[i]! >= 0 && facets[facetOf[i]!]!.voxels.push(v));
  for (const facet of facets) refitInside(table, facet);
}

/**
 * +1 when two planes meet in a valley, -1 in a ridge, 0 when one lies above the other at both of their middles or they
 * hardly differ. The sign is that of (own - other) where own holds.
 */
function bendBetween(table: VoxelTable, own: Region, other: Region, noise: number): number {
  if (own === other || own.voxels.length === 0 || other.voxels.length === 0) return 0;
  const atOwn = gapAtCentroid(table, own, other, own);
  const atOther = gapAtCentroid(table, own, other, other);
  if (Math.min(Math.abs(atOwn), Math.abs(atOther)) < 0.5 * noise || atOwn < 0 === atOther < 0) return 0;
  // A plane's residual is p · normal + d: it falls as the plane rises, so the plane that holds has the sign of atOwn.
  return Math.sign(atOwn);
}

/** Residual to `own` minus residual to `other` at the centre of gravity of one of them. */
function gapAtCentroid(table: VoxelTable, own: Region, other: Region, where: Region): number {
  const w = 1 / where.moments[0]!;
  const x = centreX(table, where.about) + where.moments[1]! * w;
  const y = centreY(table, where.about) + where.moments[2]! * w;
  const z = centreZ(table, where.about) + where.moments[3]! * w;
  return (own.a - other.a) * x + (own.b - other.b) * y + (own.c - other.c) * z + own.d - other.d;
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
