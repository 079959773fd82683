import { groundAt } from './ground-model.ts';
import type { Region } from './region.ts';
import type { GroundModel } from './segmentation.ts';
import type { VoxelTable } from './voxel-table.ts';

export interface RoofRules {
  /** [m] */
  readonly noise: number;
  /** Smallest slope area of a roof plane. [m²] */
  readonly smallestArea: number;
}

/** Steeper planes are walls. cos 75°: mansards rarely pass 70°. */
const STEEPEST_ROOF = Math.cos((75 * Math.PI) / 180);
/** What stands lower is a car, a fence, a hedge. [m] */
const LOWEST_ROOF = 1.8;

/** Area of a region along its own plane: occupied plan columns over the cosine of its pitch. [m²] */
export function roughArea(table: VoxelTable, region: Region): number {
  const columns = new Set<number>();
  for (const v of region.voxels) columns.add(table.x[v]! * 2 ** 26 + table.y[v]!);
  return (columns.size * table.size * table.size) / Math.max(region.c, 0.2);
}

/** True for regions that are roof planes: neither wall, nor ground, nor low, nor plant. */
export function chooseRoofs(table: VoxelTable, regions: readonly Region[], ground: GroundModel, rules: RoofRules): boolean[] {
  return regions.map((region) => {
    if (region.c < STEEPEST_ROOF) return false;
    if (region.sigma > 4 * rules.noise) return false;
    if (roughArea(table, region) < rules.smallestArea) return false;
    return !ground.seen || shareAbove(table, region, ground) > 0.6;
  });
}

/** Share of a region's voxels that stand well above the ground. */
function shareAbove(table: VoxelTable, region: Region, ground: GroundModel): number {
  let above = 0;
  for (const v of region.voxels) {
    const height = table.means[3 * v + 2]! - groundAt(ground, table.means[3 * v]!, table.means[3 * v + 1]!);
    // Unknown ground (a gap at the rim of the raster) does not speak against a roof.
    if (!(height < LOWEST_ROOF)) above++;
  }
  return above / region.voxels.length;
}
