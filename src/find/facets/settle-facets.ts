import { refitInside } from '../planes/region-mask.ts';
import type { Region } from '../planes/region.ts';
import { centreX, centreY, centreZ, type VoxelTable } from '../voxels/voxel-table.ts';
import { facetsByPlace, type SmoothedSurface } from './smoothed-surface.ts';

/** What one agreeing neighbour is worth against the data. [-] */
const POTTS = 0.5;
/** Rounds of moving borders; a border a metre off needs about ten. */
const SWEEPS = 14;

/**
 * Moves the borders of facets, voxel by voxel, to where the smoothed surface changes from one plane to the next
 * (iterated conditional modes, Besag 1986, with a Potts term): a lone voxel's height says nothing about a fall of one per
 * cent, a square metre's does.
 */
export function settleBorders(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, variance: number): void {
  const { voxels, first, neighbours, means, points } = surface;
  const count = voxels.length;
  const facetOf = facetsByPlace(facets, surface);
  const planes = new Float64Array(4 * facets.length);
  const votes = new Int32Array(facets.length);
  // Voxels deep inside a facet are looked at again only when something beside them moved.
  const active = new Uint8Array(count).fill(1);
  const changed = new Uint8Array(facets.length).fill(1);
  putPlanes(facets, planes);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let moved = 0;
    const backward = sweep % 2 !== 0;
    for (let step = 0; step < count; step++) {
      const i = backward ? count - 1 - step : step;
      if (active[i] === 0) continue;
      const own = facetOf[i]!;
      const begin = first[i]!;
      const end = first[i + 1]!;
      if (!hasOther(facetOf, neighbours, begin, end, own)) {
        active[i] = 0;
        continue;
      }
      for (let at = begin; at < end; at++) {
        const f = facetOf[neighbours[at]!]!;
        if (f >= 0) votes[f]!++;
      }
      const x = means[3 * i]!;
      const y = means[3 * i + 1]!;
      const z = means[3 * i + 2]!;
      const n = points[i]!;
      let best = own;
      let least = own < 0 ? Infinity : costOf(planes, own, x, y, z, n, variance, votes[own]!);
      for (let at = begin; at < end; at++) {
        const f = facetOf[neighbours[at]!]!;
        if (f < 0 || f === best) continue;
        const cost = costOf(planes, f, x, y, z, n, variance, votes[f]!);
        if (cost >= least) continue;
        least = cost;
        best = f;
      }
      for (let at = begin; at < end; at++) {
        const f = facetOf[neighbours[at]!]!;
        if (f >= 0) votes[f] = 0;
      }
      if (best === own) continue;
      facetOf[i] = best;
      moved++;
      changed[best] = 1;
      if (own >= 0) changed[own] = 1;
      for (let at = begin; at < end; at++) active[neighbours[at]!] = 1;
    }
    const settled = moved < 0.002 * count;
    // Planes follow their borders every third sweep: a fit looks at every voxel, a sweep at few.
    if (settled || sweep % 3 === 0 || sweep === SWEEPS - 1) {
      gatherFacets(table, facets, facetOf, voxels, changed);
      putPlanes(facets, planes);
    }
    if (settled) break;
  }
}

/** What it costs to give a voxel to a facet. */
function costOf(planes: Float64Array, f: number, x: number, y: number, z: number, n: number, variance: number, agreeing: number): number {
  const residual = planes[4 * f]! * x + planes[4 * f + 1]! * y + planes[4 * f + 2]! * z + planes[4 * f + 3]!;
  return (n * residual * residual) / (2 * variance) - POTTS * agreeing;
}

function hasOther(facetOf: Int32Array, neighbours: Uint32Array, begin: number, end: number, own: number): boolean {
  for (let at = begin; at < end; at++) {
    const f = facetOf[neighbours[at]!]!;
    if (f >= 0 && f !== own) return true;
  }
  return false;
}

/** Four numbers a facet. */
function putPlanes(facets: readonly Region[], planes: Float64Array): void {
  for (let f = 0; f < facets.length; f++) {
    const { a, b, c, d } = facets[f]!;
    planes[4 * f] = a;
    planes[4 * f + 1] = b;
    planes[4 * f + 2] = c;
    planes[4 * f + 3] = d;
  }
}

/**
 * Takes away facets that the planes around them explain nearly as well (strips of blocks that lay across a line), the
 * least useful first, and settles the borders anew.
 */
export function pruneFacets(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, variance: number, price: number): void {
  for (;;) {
    const left = facets.filter((facet) => facet.voxels.length > 0);
    if (left.length < 2) return;
    const planes = new Float64Array(4 * left.length);
    putPlanes(left, planes);
    let worst = -1;
    let least = price;
    for (let f = 0; f < left.length; f++) {
      const worth = worthOf(f, left[f]!, planes, surface, least);
      if (worth >= least) continue;
      least = worth;
      worst = f;
    }
    if (worst < 0) return;
    left[worst]!.voxels.length = 0;
    settleBorders(table, left.filter((_, f) => f !== worst), surface, variance);
  }
}

/** Squared error that the other facets would add on the voxels of each, as long as it is below `enough`; no less than `enough` where it is not. [points × m²] */
export function worthsOf(facets: readonly Region[], surface: SmoothedSurface, enough: number): number[] {
  const planes = new Float64Array(4 * facets.length);
  putPlanes(facets, planes);
  return facets.map((facet, f) => worthOf(f, facet, planes, surface, enough));
}

/** Of a sum's size; what rounding can do to it is far less. [-] */
const ROUNDING = 1e-9;

/**
 * Squared error that the other facets would add on a facet's voxels. It is not summed to its end once it cannot fall below
 * `enough`: what is left of it is no less than minus the squares of the facet's own residuals.
 */
function worthOf(f: number, { voxels }: Region, planes: Float64Array, { placeOf, means, points }: SmoothedSurface, enough: number): number {
  let own = 0;
  for (let k = 0; k < voxels.length; k++) {
    const i = placeOf[voxels[k]!]!;
    own += points[i]! * squareTo(planes, f, means, i);
  }
  const sure = enough + own + ROUNDING * (enough + own);
  const facets = planes.length / 4;
  let worth = 0;
  for (let k = 0; k < voxels.length; k++) {
    const i = placeOf[voxels[k]!]!;
    let other = Infinity;
    for (let g = 0; g < facets; g++) {
      if (g === f) continue;
      const square = squareTo(planes, g, means, i);
      if (square < other) other = square;
    }
    worth += points[i]! * (other - squareTo(planes, f, means, i));
    if (worth > sure) return worth;
  }
  return worth;
}

function squareTo(planes: Float64Array, f: number, means: Float64Array, i: number): number {
  const residual = planes[4 * f]! * means[3 * i]! + planes[4 * f + 1]! * means[3 * i + 1]! + planes[4 * f + 2]! * means[3 * i + 2]! + planes[4 * f + 3]!;
  return residual * residual;
}

/**
 * Straightens settled borders to where the planes cross: of two facets the lower plane holds on both sides of a ridge,
 * the upper one on both sides of a valley, so near the line the planes decide and not the noise. Voxels that speak
 * clearly for their own plane are left alone.
 */
export function straightenBorders(table: VoxelTable, facets: readonly Region[], surface: SmoothedSurface, noise: number): void {
  const { voxels, first, neighbours, means } = surface;
  const count = voxels.length;
  const facetOf = facetsByPlace(facets, surface);
  const changed = new Uint8Array(facets.length);
  const planes = new Float64Array(4 * facets.length);
  putPlanes(facets, planes);
  const bends = new Int8Array(facets.length * facets.length);
  facets.forEach((own, f) => facets.forEach((other, g) => (bends[f * facets.length + g] = bendBetween(table, own, other, noise))));
  // The planes stand still here: a voxel is looked at again only when it or something beside it changed hands.
  const active = new Uint8Array(count).fill(1);
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let moved = 0;
    const backward = sweep % 2 !== 0;
    for (let step = 0; step < count; step++) {
      const i = backward ? count - 1 - step : step;
      if (active[i] === 0) continue;
      active[i] = 0;
      const own = facetOf[i]!;
      const end = first[i + 1]!;
      let best = own;
      for (let at = first[i]!; at < end && best >= 0; at++) {
        const other = facetOf[neighbours[at]!]!;
        if (other < 0 || other === best) continue;
        const bend = bends[best * facets.length + other]!;
        if (bend === 0) continue;
        const here = gapOf(planes, best, other, means, i);
        if (here * bend < 0 && Math.abs(here) < noise) best = other;
      }
      if (best === own) continue;
      changed[best] = 1;
      changed[own] = 1;
      facetOf[i] = best;
      moved++;
      active[i] = 1;
      for (let at = first[i]!; at < end; at++) active[neighbours[at]!] = 1;
    }
    if (moved === 0) break;
  }
  gatherFacets(table, facets, facetOf, voxels, changed);
}

/** Residual to one facet minus residual to another, at a voxel's smoothed mean. [m] */
function gapOf(planes: Float64Array, f: number, g: number, means: Float64Array, i: number): number {
  const a = planes[4 * f]! - planes[4 * g]!;
  const b = planes[4 * f + 1]! - planes[4 * g + 1]!;
  const c = planes[4 * f + 2]! - planes[4 * g + 2]!;
  return a * means[3 * i]! + b * means[3 * i + 1]! + c * means[3 * i + 2]! + planes[4 * f + 3]! - planes[4 * g + 3]!;
}

/** Hands their voxels to the facets that changed, in the order of the surface, and fits these anew; clears `changed`. */
function gatherFacets(table: VoxelTable, facets: readonly Region[], facetOf: Int32Array, voxels: readonly number[], changed: Uint8Array): void {
  for (let f = 0; f < facets.length; f++) if (changed[f]) facets[f]!.voxels.length = 0;
  for (let i = 0; i < voxels.length; i++) {
    const f = facetOf[i]!;
    if (f >= 0 && changed[f]) facets[f]!.voxels.push(voxels[i]!);
  }
  for (let f = 0; f < facets.length; f++) if (changed[f]) refitInside(table, facets[f]!);
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
