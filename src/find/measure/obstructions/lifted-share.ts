import { cos, sin } from '../../../geometry/same-math.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import { elevationAt } from '../borders/intersections.ts';
import { grown, type ObstructionContext, type RoofLevel } from './patch-points.ts';
import { meanCovarianceInSquare } from '../faces/residual-correlation.ts';
import { footprintArea, type Footprint } from './top-shape.ts';

/** Whole footprints must pass at this many sigmas: a little more than the squares that pointed at them, for their choice of place. */
const FOOTPRINT_SIGMAS = 5;
/** Share of all points in a footprint that lie in the upper half of its height; at the rim, where walls lie below, more. */
const SHARE_UP = 0.3;
const SHARE_UP_AT_RIM = 0.5;
const FEWEST_UP = 4;
/** So high above the noise, only the number of points up there matters: roof seen below a thing is no doubt of it. [sigmas] */
export const TALL_SIGMAS = 8;
/** A lower thing lifts its points as a whole: least share up, and least mean over its height. */
const LOW_SHARE = 0.42;

/**
 * Tests the footprint on all of its points. Those of its top were chosen for being high, so among noise they always are;
 * strays and the foot of a wall stand among points of the roof itself.
 *
 * @returns Share of its points in the upper half of its height; null when it does not pass.
 */
export function liftedShare(footprint: Footprint, rise: number, base: RoofLevel, patch: RaisedPatch, context: ObstructionContext): number | null {
  const { raster, points, fits } = context;
  const fit = fits[patch.face - 1]!;
  const { centre, turn, size, round } = footprint;
  const [c, s] = [cos(turn), sin(turn)];
  let [count, up, sum, squares] = [0, 0, 0, 0];
  for (const k of grown(raster, patch.cells, 1)) {
    const own = raster.face[k] ? fits[raster.face[k]! - 1]! : fit;
    points.each(k, (x, y, z) => {
      const [dx, dy] = [x - centre[0], y - centre[1]];
      const [u, v] = [(dx * c + dy * s) / size[0], (dy * c - dx * s) / size[1]];
      if (round ? u * u + v * v > 0.25 : Math.abs(u) > 0.5 || Math.abs(v) > 0.5) return;
      const above = z - elevationAt(own, [x, y]) - base.offset;
      // Walls and ground seen past the rim are far below the roof and no part of it.
      if (above < -rise - 5 * own.noise) return;
      const clipped = Math.min(above, 1.5 * rise);
      count++;
      sum += clipped;
      squares += clipped * clipped;
      if (above > 0.5 * rise) up++;
    });
  }
  if (up < Math.max(FEWEST_UP, (patch.beyondRim > 0 ? SHARE_UP_AT_RIM : SHARE_UP) * count)) return null;
  if (rise > TALL_SIGMAS * fit.noise) return up / count;
  const mean = sum / count;
  if (Math.min(up / count, mean / rise) < LOW_SHARE) return null;
  const scatter = Math.max(0, squares / count - mean * mean);
  const side = Math.sqrt(footprintArea(footprint));
  const variance = Math.max(scatter, fit.correlation.alone) / count + meanCovarianceInSquare(fit.correlation, side) + (base.u95 / SIGMAS_95) ** 2;
  return mean > FOOTPRINT_SIGMAS * Math.sqrt(variance) ? up / count : null;
}
