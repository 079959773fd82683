import { cutIntoBlocks, independentVariance } from '../facets/facet-blocks.ts';
import type { Region } from './region.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

/** Edge of the patches whose means are compared; a reconstruction's points share their error over a decimetre or so. [m] */
const PATCH = 0.8;
/** Smaller surfaces have no full window of nine patches. [m²] */
const SMALLEST_SURFACE = 6;
/** Longer waves than patches see: twice as many points share an error as they say. [-] */
const WAVES = 2;
/**
 * Roofs themselves are wavy: on the open scans of terraces windows of 3 m stray by 8 mm where points stray by 22 to 27 mm,
 * which is 10 to 30 points that share an error at 14 to 27 points a square metre. [-]
 */
const FEWEST = 30;
/** Bound of a sensible answer. [-] */
const MOST = 60;
/** Plan area over which points share their error, where no surface is large enough to measure it. [m²] */
const SHARED_AREA = 0.055;

/**
 * How many points share one independent error (the square of the correlation factor F of methods E), measured on the
 * surfaces at hand: the variance of patch means times their points over the variance of points. A reconstruction at 2 cm
 * has some hundred, one at 5 cm some twenty, a scanner one or two (but for the waves of the roof itself).
 *
 * @param noise  Of the cloud, one sigma. [m]
 */
export function sharedError(table: VoxelTable, regions: readonly Region[], noise: number, pointSpacing: number): number {
  const size = Math.max(2 * table.size, PATCH);
  const ratios: number[] = [];
  for (const region of regions) {
    if (region.c < 0.2 || region.voxels.length * table.size * table.size < SMALLEST_SURFACE) continue;
    const variance = independentVariance(cutIntoBlocks(table, region.voxels, region, size));
    if (variance !== null) ratios.push(variance / (noise * noise));
  }
  ratios.sort((a, b) => a - b);
  const measured = ratios.length > 0 ? ratios[ratios.length >> 1]! : SHARED_AREA / (WAVES * pointSpacing * pointSpacing);
  return Math.min(MOST, Math.max(FEWEST, WAVES * measured));
}
