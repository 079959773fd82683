import { residualOf, type Region } from '../planes/region.ts';
import { compacted } from './split-facets.ts';
import { keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

/** Larger regions are no strips along a crease. [voxels], [m²] */
const MOST_VOXELS = 60;
const LARGEST_STRIP = 4;
/** What counts as beside it is at least so many times larger. [-] */
const LARGER = 2;
/** Share of its voxels that planes beside it explain, within so many sigmas. [-] */
const EXPLAINED = 0.7;
const WITHIN_SIGMAS = 2;
/** A plane beside it that turns less is no other plane: whether they are one is for merging to say. cos 4° */
const ALIKE = cos((4 * Math.PI) / 180);

/**
 * Gives up small regions whose voxels lie on the larger planes beside them: where two planes meet, voxels hold points of
 * both, and a strip of them has a plane of its own that bridges the crease. Most are seen in thin clouds, whose voxels are large.
 *
 * @param noise  Of the cloud, one sigma. [m]
 * @returns The regions that are left; `regionOf` is renumbered, given up voxels are free.
 */
export function dissolveStrips(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, noise: number): Region[] {
  const most = Math.min(MOST_VOXELS, LARGEST_STRIP / (table.size * table.size));
  for (const region of regions) {
    if (region.voxels.length > most) continue;
    const beside = planesBeside(table, regions, regionOf, region);
    if (beside.length < 2 || beside.some((other) => facing(other, region) > ALIKE)) continue;
    let explained = 0;
    for (const v of region.voxels) if (beside.some((other) => Math.abs(residualOf(table, other, v)) < WITHIN_SIGMAS * noise)) explained++;
    if (explained < EXPLAINED * region.voxels.length) continue;
    for (const v of region.voxels) regionOf[v] = -1;
    region.voxels.length = 0;
  }
  return compacted(regions, regionOf);
}

const facing = (a: Region, b: Region): number => Math.abs(a.a * b.a + a.b * b.b + a.c * b.c);

function planesBeside(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, region: Region): Region[] {
  const found = new Set<number>();
  const { first, list } = keptNeighbours(table);
  let last = -1;
  for (const v of region.voxels) {
    for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
      const r = regionOf[list[k]!]!;
      if (r < 0 || r === last) continue;
      found.add(r);
      last = r;
    }
  }
  return [...found].map((r) => regions[r]!).filter((other) => other !== region && other.voxels.length >= LARGER * region.voxels.length);
}
