import { groundAt } from '../buildings/ground-model.ts';
import { coveredCells } from './region-mask.ts';
import type { Region } from './region.ts';
import type { GroundModel } from '../segmentation.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

export interface RoofRules {
  /** [m] */
  readonly noise: number;
  /** Smallest slope area of a roof plane. [m²] */
  readonly smallestArea: number;
}

/** Steeper planes are walls. cos 75°: mansards rarely pass 70°. */
const STEEPEST_ROOF = cos((75 * Math.PI) / 180);
/** What stands lower is a car, a fence, a hedge. [m] */
const LOWEST_ROOF = 1.8;

/** Area of a region along its own plane: occupied columns, seen along the axis it faces most, over the cosine. [m²] */
export function roughArea(table: VoxelTable, region: Region): number {
  const facing = region.c >= 0.5 ? region.c : Math.max(Math.abs(region.a), Math.abs(region.b));
  return (coveredCells(table, region) * table.size * table.size) / facing;
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
