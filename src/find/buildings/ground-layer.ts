import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import type { LowSurface } from './low-surface.ts';

/**
 * Mean height of the lowest surface in each raster cell; NaN where no point fell. What makes a cell's lowest surface is the
 * lowest voxel with a share of its points, and that one may hold the lower half of the noise alone: 15 to 25 mm too low at
 * 2 cm of noise. A layer as thick as a voxel about it holds all of the noise.
 */
export function groundLayer(table: VoxelTable, { columns, cellSize, origin, elevation }: LowSurface): Float32Array {
  const { count, means, sums, size } = table;
  const points = new Float64Array(elevation.length);
  const heights = new Float64Array(elevation.length);
  for (let v = 0; v < count; v++) {
    const k = Math.floor((means[3 * v + 1]! - origin[1]) / cellSize) * columns + Math.floor((means[3 * v]! - origin[0]) / cellSize);
    const above = means[3 * v + 2]! - elevation[k]!;
    if (!(Math.abs(above) < size)) continue;
    points[k]! += sums[MOMENTS * v]!;
    heights[k]! += sums[MOMENTS * v]! * above;
  }
  return elevation.map((lowest, k) => (points[k]! > 0 ? lowest + heights[k]! / points[k]! : lowest));
}
