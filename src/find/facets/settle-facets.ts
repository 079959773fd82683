import { refitInside } from '../planes/region-mask.ts';
import type { Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { centreX, centreY, centreZ, neighboursOf, type VoxelTable } from '../voxels/voxel-table.ts';

/** What one agreeing neighbour is worth against the data. [-] */
const POTTS = 0.5;
/** Rounds of moving borders; a border a metre off needs about ten. */
const SWEEPS = 14;

/** A surface with each voxel's neighbours and its height smoothed over five by five voxels. */
export interface SmoothedSurface {
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

export function smoothed(table: VoxelTable, voxels: readonly number[], placeOf: Int32Array): SmoothedSurface {
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
export function settleBorders(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, variance: number): void {
  const { voxels, placeOf, first, neighbours, means, points } = surface;
  const facetOf = new Int32Array(voxels.length).fill(-1);
  facets.forEach((facet, f) => facet.voxels.forEach((v) => placeOf[v]! >= 0 && (facetOf[placeOf[v]!] = f)));
  const votes = new Int32Array(facets.length);
  // Voxels deep inside a facet are looked at again only when something beside them moved.
  const active = new Uint8Array(voxels.length).fill(1);
  const changed = new Uint8Array(facets.length).fill(1);
  const costOf = (i: number, { a, b, c, d }: Region, agreeing: number): number => {
    const residual = a * means[3 * i]! + b * means[3 * i + 1]! + c * means[3 * i + 2]! + d;
    return (points[i]! * residual * residual) / (2 * variance) - POTTS * agreeing;
  };
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
        let least = own < 0 ? Infinity : costOf(i, facets[own]!, votes[own]!);
        for (let at = first[i]!; at < first[i + 1]!; at++) {
          const f = facetOf[neighbours[at]!]!;
          if (f < 0 || f === best) continue;
          const cost = costOf(i, facets[f]!, votes[f]!);
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
      changed[best] = 1;
      if (own >= 0) changed[own] = 1;
      for (let at = first[i]!; at < first[i + 1]!; at++) active[neighbours[at]!] = 1;
    }
    const settled = moved < 0.002 * voxels.length;
    // Planes follow their borders every third sweep: a fit looks at every voxel, a sweep at few.
    if (settled || sweep % 3 === 0 || sweep === SWEEPS - 1) gatherFacets(table, facets, facetOf, voxels, changed);
    if (settled) break;
  }
}

/**
 * Takes away facets that the planes around them explain nearly as well (strips of blocks that lay across a line), the
 * least useful first, and settles the borders anew.
 */
export function pruneFacets(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, variance: number, price: number): void {
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
export function straightenBorders(table: VoxelTable, facets: readonly Region[], { voxels, placeOf, first, neighbours, means }: SmoothedSurface, noise: number): void {
  const facetOf = new Int32Array(voxels.length).fill(-1);
  facets.forEach((facet, f) => facet.voxels.forEach((v) => (facetOf[placeOf[v]!] = f)));
  const changed = new Uint8Array(facets.length);
  const bends = facets.map((own) => facets.map((other) => bendBetween(table, own, other, noise)));
  const gap = (f: number, g: number, i: number): number => {
    const own = facets[f]!;
    const other = facets[g]!;
    return (own.a - other.a) * means[3 * i]! + (own.b - other.b) * means[3 * i + 1]! + (own.c - other.c) * means[3 * i + 2]! + own.d - other.d;
  };
  // The planes stand still here: a voxel is looked at again only when it or something beside it changed hands.
  const active = new Uint8Array(voxels.length).fill(1);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let moved = 0;
    for (let step = 0; step < voxels.length; step++) {
      const i = sweep % 2 === 0 ? step : voxels.length - 1 - step;
      if (!active[i]) continue;
      active[i] = 0;
      let best = facetOf[i]!;
      for (let at = first[i]!; at < first[i + 1]! && best >= 0; at++) {
        const other = facetOf[neighbours[at]!]!;
        if (other < 0 || other === best) continue;
        const bend = bends[best]![other]!;
        const here = gap(best, other, i);
        if (bend !== 0 && here * bend < 0 && Math.abs(here) < noise) best = other;
      }
      if (best === facetOf[i]) continue;
      changed[best] = 1;
      changed[facetOf[i]!] = 1;
      facetOf[i] = best;
      moved++;
      active[i] = 1;
      for (let at = first[i]!; at < first[i + 1]!; at++) active[neighbours[at]!] = 1;
    }
    if (moved === 0) break;
  }
  gatherFacets(table, facets, facetOf, voxels, changed);
}

/** Hands the voxels to their facets and fits those anew that changed; clears `changed`. */
function gatherFacets(table: VoxelTable, facets: readonly Region[], facetOf: Int32Array, voxels: readonly number[], changed: Uint8Array): void {
  for (const facet of facets) facet.voxels.length = 0;
  for (let i = 0; i < voxels.length; i++) if (facetOf[i]! >= 0) facets[facetOf[i]!]!.voxels.push(voxels[i]!);
  facets.forEach((facet, f) => changed[f] && refitInside(table, facet));
  changed.fill(0);
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
