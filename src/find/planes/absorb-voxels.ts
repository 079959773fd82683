import { residualOf, type Region } from './region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import { keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';

/**
 * Lets regions take in the loose voxels at their borders, ring by ring: those whose own points lie on the plane although
 * their surroundings, which reach over the border, face another way. Where two planes want one voxel the nearer gets it.
 *
 * @param skip  Voxels nobody may have.
 * @param rings  Voxels a region may reach outward.
 */
export function absorbVoxels(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  skip: Uint8Array,
  noise: number,
  rings: number,
): void {
  const { first, list } = keptNeighbours(table);
  for (let ring = 0; ring < rings; ring++) {
    const taken: number[] = [];
    const takers: number[] = [];
    for (let v = 0; v < table.count; v++) {
      if (regionOf[v]! >= 0 || skip[v]) continue;
      let best = -1;
      let least = 1;
      for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
        const r = regionOf[list[k]!]!;
        if (r < 0 || r === best) continue;
        const region = regions[r]!;
        const tolerance = 2.5 * Math.max(region.sigma, noise);
        const share = Math.abs(residualOf(table, region, v)) / tolerance;
        if (share < least && spreadAlong(table, region, v) < tolerance * tolerance) {
          least = share;
          best = r;
        }
      }
      if (best < 0) continue;
      taken.push(v);
      takers.push(best);
    }
    if (taken.length === 0) return;
    taken.forEach((v, i) => {
      regionOf[v] = takers[i]!;
      regions[takers[i]!]!.voxels.push(v);
    });
  }
}

/** Variance of a voxel's own points along the normal of a region. [m²] */
function spreadAlong(table: VoxelTable, { a, b, c }: Region, v: number): number {
  const { sums } = table;
  const o = MOMENTS * v;
  const w = 1 / sums[o]!;
  const mean = (a * sums[o + 1]! + b * sums[o + 2]! + c * sums[o + 3]!) * w;
  const square =
    a * a * sums[o + 4]! +
    b * b * sums[o + 7]! +
    c * c * sums[o + 9]! +
    2 * (a * b * sums[o + 5]! + a * c * sums[o + 6]! + b * c * sums[o + 8]!);
  return square * w - mean * mean;
}
