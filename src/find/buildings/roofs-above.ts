import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import type { LowSurface } from './low-surface.ts';
import { DROP } from './ground-pieces.ts';

/** A roof over ground that reaches beyond it is at least this large; one over a floor of its own at least so large. [m²] */
const SMALLEST_COVER = 12;
const SMALLEST_OVER_FLOOR = 1.5;
/** Share of what stands over the lowest surface that must be smooth: crowns of trees are not. */
const SMOOTH_SHARE = 0.5;
/** A cover is smooth where it bends by no more than this from cell to cell. [m] */
const SMOOTH_BEND = 0.12;

/** Smooth covers high over the lowest surface: that runs on below roofs, and no roof runs on below another. */
export function runsBelowRoofs(table: VoxelTable, { columns, rows, elevation, cellSize, origin }: LowSurface): boolean {
  const cellOf = (v: number): number => Math.floor((table.means[3 * v + 1]! - origin[1]) / cellSize) * columns + Math.floor((table.means[3 * v]! - origin[0]) / cellSize);
  const highest = new Float64Array(elevation.length);
  for (let v = 0; v < table.count; v++) highest[cellOf(v)] = Math.max(highest[cellOf(v)]!, table.means[3 * v + 2]! - elevation[cellOf(v)]!);
  const points = new Float64Array(elevation.length);
  const heights = new Float64Array(elevation.length);
  for (let v = 0; v < table.count; v++) {
    const k = cellOf(v);
    const above = table.means[3 * v + 2]! - elevation[k]!;
    if (!(above > DROP) || above < highest[k]! - cellSize) continue;
    points[k]! += table.sums[MOMENTS * v]!;
    heights[k]! += table.sums[MOMENTS * v]! * table.means[3 * v + 2]!;
  }
  const cover = heights.map((sum, k) => sum / points[k]!);
  let [seen, covered, looked, smooth] = [0, 0, 0, 0];
  for (let k = 0; k < cover.length; k++) {
    if (!Number.isNaN(elevation[k]!)) seen++;
    if (points[k] === 0) continue;
    covered++;
    const [x, y] = [k % columns, Math.floor(k / columns)];
    if (x === 0 || y === 0 || x + 1 === columns || y + 1 === rows) continue;
    const bends = [cover[k - 1]! + cover[k + 1]! - 2 * cover[k]!, cover[k - columns]! + cover[k + columns]! - 2 * cover[k]!];
    for (const bend of bends) {
      if (Number.isNaN(bend)) continue;
      looked++;
      if (Math.abs(bend) < SMOOTH_BEND) smooth++;
    }
  }
  const least = 2 * covered > seen ? SMALLEST_OVER_FLOOR : SMALLEST_COVER;
  return (smooth / 2) * cellSize * cellSize >= least && smooth >= SMOOTH_SHARE * looked;
}
