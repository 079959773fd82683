import { planeElevationAt } from '../../geometry/plane.ts';
import { signedPlanArea } from '../../geometry/polygon.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import type { Building, Obstruction, RecordPick } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { isKnown, missing, type Measured } from '../../units/measured.ts';
import { ringNumbers } from '../measure/numbers.ts';
import { ringContains } from '../../geometry/polygon.ts';

/**
 * A thing a person drew on a roof: its footprint from picks, its height as given. It stands on the highest plane under
 * the middle of its footprint.
 *
 * @throws InputError when the picks enclose no area, or lie on no plane of the building.
 */
export function addObstruction(building: Building, id: string, picks: readonly RecordPick[], heightAboveRoofM: Measured): Building {
  const { plan } = ringNumbers(picks);
  if (!isKnown(plan)) throw new InputError('outline', `${plan.why}.`);
  const ring = picks.map(({ at }): Vector2 => [at[0], at[1]]);
  const footprint = signedPlanArea(ring) > 0 ? ring : ring.toReversed();
  const middle: Vector2 = [ring.reduce((sum, [x]) => sum + x, 0) / ring.length, ring.reduce((sum, [, y]) => sum + y, 0) / ring.length];
  const under = building.roofPlanes
    .filter((plane) => plane.normal[2] > 0.05 && ringContains(plane.outline, middle))
    .toSorted((a, b) => planeElevationAt(b, middle) - planeElevationAt(a, middle))[0];
  if (!under) throw new InputError('outline', 'lies on no roof plane of this building.');
  const obstruction: Obstruction = {
    id, onPlane: under.id, footprint, planAreaM2: plan, heightAboveRoofM, shape: 'unknown', resolvability: isKnown(heightAboveRoofM) ? 'resolved' : 'marginal', note: 'drawn by hand',
  };
  return { ...building, obstructions: [...building.obstructions, obstruction] };
}

/** The same thing with another height, as a person measured it. */
export function withHeight(building: Building, id: string, heightAboveRoofM: Measured): Building {
  const at = building.obstructions.findIndex((thing) => thing.id === id);
  if (at < 0) throw new RangeError(`No obstruction ${id}.`);
  const resolvability = isKnown(heightAboveRoofM) ? 'resolved' : 'marginal';
  return { ...building, obstructions: building.obstructions.with(at, { ...building.obstructions[at]!, heightAboveRoofM, resolvability }) };
}

/** Until someone measures it. */
export const HEIGHT_NOT_MEASURED = missing('not measured yet');
