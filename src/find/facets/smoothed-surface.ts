import type { Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { neighboursOf, type VoxelTable } from '../voxels/voxel-table.ts';

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
  const count = voxels.length;
  for (let i = 0; i < count; i++) placeOf[voxels[i]!] = i;
  const first = new Uint32Array(count + 1);
  let neighbours = new Uint32Array(12 * count + 26);
  const near = new Int32Array(26);
  let listed = 0;
  for (let i = 0; i < count; i++) {
    const found = neighboursOf(table, voxels[i]!, near);
    if (listed + found > neighbours.length) neighbours = longer(neighbours);
    for (let k = 0; k < found; k++) {
      const place = placeOf[near[k]!]!;
      if (place >= 0) neighbours[listed++] = place;
    }
    first[i + 1] = listed;
  }
  let sums = new Float64Array(4 * count);
  for (let i = 0; i < count; i++) {
    const v = voxels[i]!;
    const n = table.sums[MOMENTS * v]!;
    sums[4 * i] = n;
    sums[4 * i + 1] = n * table.means[3 * v]!;
    sums[4 * i + 2] = n * table.means[3 * v + 1]!;
    sums[4 * i + 3] = n * table.means[3 * v + 2]!;
  }
  sums = withNeighbours(withNeighbours(sums, first, neighbours), first, neighbours);
  const means = new Float64Array(3 * count);
  const points = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const n = sums[4 * i]!;
    means[3 * i] = sums[4 * i + 1]! / n;
    means[3 * i + 1] = sums[4 * i + 2]! / n;
    means[3 * i + 2] = sums[4 * i + 3]! / n;
    points[i] = n / SPREAD;
  }
  return { voxels, placeOf, first, neighbours, means, points };
}

/** Two rounds count a voxel up to nine times; what counts as independent is the area covered. */
const SPREAD = 9;

function longer(values: Uint32Array): Uint32Array<ArrayBuffer> {
  const copy = new Uint32Array(2 * values.length);
  copy.set(values);
  return copy;
}

/** Four sums of each voxel and of those around it. */
function withNeighbours(sums: Float64Array, first: Uint32Array, neighbours: Uint32Array): Float64Array<ArrayBuffer> {
  const wider = new Float64Array(sums.length);
  for (let i = 0; i + 1 < first.length; i++) {
    let n = sums[4 * i]!;
    let x = sums[4 * i + 1]!;
    let y = sums[4 * i + 2]!;
    let z = sums[4 * i + 3]!;
    for (let at = first[i]!; at < first[i + 1]!; at++) {
      const o = 4 * neighbours[at]!;
      n += sums[o]!;
      x += sums[o + 1]!;
      y += sums[o + 2]!;
      z += sums[o + 3]!;
    }
    wider[4 * i] = n;
    wider[4 * i + 1] = x;
    wider[4 * i + 2] = y;
    wider[4 * i + 3] = z;
  }
  return wider;
}

/** Facet of each voxel by its place in the surface, -1 for none. */
export function facetsByPlace(facets: readonly Region[], { voxels, placeOf }: Pick<SmoothedSurface, 'voxels' | 'placeOf'>): Int32Array {
  const facetOf = new Int32Array(voxels.length).fill(-1);
  for (let f = 0; f < facets.length; f++) {
    const own = facets[f]!.voxels;
    for (let k = 0; k < own.length; k++) {
      const place = placeOf[own[k]!]!;
      if (place >= 0) facetOf[place] = f;
    }
  }
  return facetOf;
}
