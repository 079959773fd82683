import type { Vector2 } from '../../../geometry/vector.ts';
import type { Beyond } from './edge-kind.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';

/** Walls on roofs are seldom thicker than this; what is raised farther out is not a strip. [m] */
const WIDEST_STRIP = 0.9;
/** A strip lower than this is a kerb or trim within the noise of a reconstruction. [m] */
const LOWEST_STRIP = 0.08;
/** Share of an edge that must be raised. */
const RAISED_SHARE = 0.6;

/** Elevation of the top of a raster cell, whatever is there; -Infinity where nothing was seen. [m] */
export type TopOf = (cell: number) => number;

/**
 * Looks at the raster beyond a free edge: nothing (ground, air), a raised strip with a drop behind it, or something that
 * stays up (a wall, a neighbour's higher roof).
 *
 * @param outward  Unit, square to the edge, away from the plane.
 */
export function lookBeyond(raster: RoofRaster, topOf: TopOf, fit: FaceFit, from: Vector2, to: Vector2, outward: Vector2, noise: number): Beyond {
  const { step } = raster;
  const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const count = Math.max(3, Math.min(200, Math.round(size / step)));
  const least = Math.max(LOWEST_STRIP, 5 * noise);
  let [raised, stays, looked] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    const share = (i + 0.5) / count;
    // Corners belong to the neighbours as much.
    if (size > 6 * step && (share * size < 2 * step || (1 - share) * size < 2 * step)) continue;
    const at: Vector2 = [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    looked++;
    const near = highest(raster, topOf, fit, at, outward, -0.5 * step, Math.max(3 * step, 0.25));
    if (!(near > least)) continue;
    raised++;
    const far = highest(raster, topOf, fit, at, outward, WIDEST_STRIP, WIDEST_STRIP + Math.max(2 * step, 0.2));
    if (far > 0.5 * near) stays++;
  }
  if (looked === 0 || raised < RAISED_SHARE * looked) return 'nothing';
  return stays > 0.5 * raised ? 'wall' : 'strip';
}

/** Greatest height above the plane among what the raster holds on a short way outward; -Infinity where nothing is. */
function highest(raster: RoofRaster, topOf: TopOf, fit: FaceFit, at: Vector2, outward: Vector2, from: number, to: number): number {
  const { origin, step, columns, rows } = raster;
  const level = elevationAt(fit, at);
  let best = -Infinity;
  for (let away = from; away <= to; away += 0.7 * step) {
    const [x, y] = [at[0] + away * outward[0], at[1] + away * outward[1]];
    const column = Math.floor((x - origin[0]) / step);
    const row = Math.floor((y - origin[1]) / step);
    if (column < 0 || row < 0 || column >= columns || row >= rows) continue;
    const k = row * columns + column;
    // Out beyond an eave the plane sinks below what bears it: the head of a wall is not raised.
    best = Math.max(best, topOf(k) - Math.max(level, elevationAt(fit, [x, y])));
  }
  return best;
}
