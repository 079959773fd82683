import { roughArea } from '../planes/choose-roofs.ts';
import type { Region } from '../planes/region.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { PooledNormals } from '../voxels/pooled-normals.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

/** A plane is as rough as leaves when it is this much thicker than the noise, a large one more: dark flat roofs scatter as well … [sigmas], [m²] */
const LEAST_SIGMAS = 1.5;
const LARGE_SIGMAS = 2.3;
const LARGE = 10;
/**
 * … and its thickness [sigmas] times the root mean square sine by which its voxels lean away from it exceeds this. Airborne points
 * over terraces with trees, classed by their publisher: roofs of 10 m² and more lie at 0.1, nearly all below 0.4, crowns at 0.9.
 */
const LEAST_ROUGHNESS = 0.5;
/** Share of a building's area that must be as rough. Roofs under moss or with plant on them have sound neighbours. */
const ROUGH_SHARE = 0.7;

/**
 * Sorts out what stands alone and is as rough as the crown of a tree: flat pieces of it pass for planes one by one, but leaves
 * turn any way, and no sound plane is among them.
 *
 * @param buildings  Region numbers of each. @param noise  Of the cloud, one sigma. [m]
 * @returns The buildings that are none of plants, in their order.
 */
export function rejectPlants(table: VoxelTable, regions: readonly Region[], pooled: PooledNormals, buildings: readonly number[][], noise: number): number[][] {
  return buildings.filter((group) => {
    let [rough, all] = [0, 0];
    for (const r of group) {
      const region = regions[r]!;
      const area = roughArea(table, region);
      all += area;
      const sigmas = region.sigma / noise;
      if (sigmas > (area < LARGE ? LEAST_SIGMAS : LARGE_SIGMAS) && sigmas * leanOf(table, region, pooled) > LEAST_ROUGHNESS) rough += area;
    }
    return rough < ROUGH_SHARE * all;
  });
}

/** Root mean square sine of the angle between a plane and its voxels' surroundings, by points; 0 where none has a normal. */
function leanOf({ sums }: VoxelTable, { voxels, a, b, c }: Region, { normals, thickness }: PooledNormals): number {
  let [sum, weight] = [0, 0];
  for (const v of voxels) {
    if (thickness[v] === Infinity) continue;
    const cosine = a * normals[3 * v]! + b * normals[3 * v + 1]! + c * normals[3 * v + 2]!;
    const points = sums[MOMENTS * v]!;
    sum += points * (1 - cosine * cosine);
    weight += points;
  }
  return weight > 0 ? Math.sqrt(Math.max(0, sum / weight)) : 0;
}
