import { ringContains } from '../../geometry/polygon.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import { SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import { measured, missing, type Measured } from '../../units/measured.ts';
import type { GroundModel } from '../segmentation.ts';

/** Ground counts up to here from the box round the outline. [m] */
const REACH = 5;
/**
 * What stands between the points and the ground a tape stands on: grass, gravel, leaves. 95 %, even where the ground is level.
 * Common practice, no source. [m]
 */
export const GROUND_COVER_U95 = 0.03;
/** Median of the size of a normal variable, in sigmas. */
const MEDIAN_SIZE = 0.674490;
/** How much more a median scatters than a mean. */
const MEDIAN_LOSS = Math.sqrt(Math.PI / 2);

/**
 * Ground around a building: median of the ground model near its outline, which is true for the building as a whole. Its parts:
 * what covers the ground; relief, as the ground around a building is no one number; and the noise of the points. Relief is what
 * the heights spread beyond their noise, which second differences of neighbouring cells show whatever the slope.
 */
export function groundElevation(ground: GroundModel, outline: readonly Vector2[]): Measured {
  if (!ground.seen) return missing('no ground seen');
  const { heights, bends } = heightsNear(ground, outline);
  if (heights.length === 0) return missing('no ground seen near the building');
  heights.sort((a, b) => a - b);
  bends.sort((a, b) => a - b);
  const spread = (quantile(heights, 0.84) - quantile(heights, 0.16)) / 2;
  const noise = bends.length > 0 ? quantile(bends, 0.5) / (MEDIAN_SIZE * Math.sqrt(6)) : 0;
  return measured(quantile(heights, 0.5), [
    { name: 'ground cover', u95: GROUND_COVER_U95 },
    { name: 'ground relief', u95: SIGMAS_95 * Math.sqrt(Math.max(0, spread * spread - noise * noise)) },
    { name: 'points', u95: (SIGMAS_95 * MEDIAN_LOSS * noise) / Math.sqrt(heights.length) },
  ]);
}

const quantile = (sorted: readonly number[], share: number): number => sorted[Math.floor(share * (sorted.length - 1))]!;

/** Heights of the ground near an outline, and by how much they bend from cell to cell: sizes of a - 2 b + c. */
function heightsNear({ origin, cellSize, columns, rows, elevation }: GroundModel, outline: readonly Vector2[]): { heights: number[]; bends: number[] } {
  const xs = outline.map(([x]) => x);
  const ys = outline.map(([, y]) => y);
  const columnOf = (x: number): number => Math.floor((x - origin[0]) / cellSize);
  const rowOf = (y: number): number => Math.floor((y - origin[1]) / cellSize);
  const [first, last] = [Math.max(0, columnOf(Math.min(...xs) - REACH)), Math.min(columns - 1, columnOf(Math.max(...xs) + REACH))];
  const [lowest, highest] = [Math.max(0, rowOf(Math.min(...ys) - REACH)), Math.min(rows - 1, rowOf(Math.max(...ys) + REACH))];
  const width = Math.max(0, last - first + 1);
  const near = new Float64Array(width * Math.max(0, highest - lowest + 1)).fill(NaN);
  const heights: number[] = [];
  for (let row = lowest; row <= highest; row++) {
    for (let column = first; column <= last; column++) {
      const height = elevation[row * columns + column]!;
      const at: Vector2 = [origin[0] + (column + 0.5) * cellSize, origin[1] + (row + 0.5) * cellSize];
      if (!Number.isFinite(height) || ringContains(outline, at)) continue;
      near[(row - lowest) * width + column - first] = height;
      heights.push(height);
    }
  }
  return { heights, bends: [...bendsAlong(near, 1, (k) => k % width), ...bendsAlong(near, width, (k) => (k - (k % width)) / width)] };
}

/** Sizes of second differences along one axis; `placeOf` counts along it, so that none runs over the raster's rim. */
function bendsAlong(heights: Float64Array, step: number, placeOf: (k: number) => number): number[] {
  const bends: number[] = [];
  for (let k = 2 * step; k < heights.length; k++) {
    const bend = Math.abs(heights[k]! - 2 * heights[k - step]! + heights[k - 2 * step]!);
    if (placeOf(k) >= 2 && !Number.isNaN(bend)) bends.push(bend);
  }
  return bends;
}
