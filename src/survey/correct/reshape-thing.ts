import type { Building, RecordPick } from '../../roof/record.ts';
import { addObstruction } from './add-obstruction.ts';

/**
 * Another foot for a thing in the way; its height, its shape and its id stay. It stands on the plane under its new foot.
 *
 * @throws InputError when the picks enclose no area, or lie on no plane of the building.
 */
export function reshapeThing(building: Building, id: string, picks: readonly RecordPick[]): Building {
  const at = building.obstructions.findIndex((thing) => thing.id === id);
  const thing = building.obstructions[at];
  if (!thing) throw new RangeError(`No obstruction ${id}.`);
  const drawn = addObstruction({ ...building, obstructions: [] }, id, picks, thing.heightAboveRoofM).obstructions[0]!;
  const { onPlane, footprint, planAreaM2 } = drawn;
  return { ...building, obstructions: building.obstructions.with(at, { ...thing, onPlane, footprint, planAreaM2, note: 'foot drawn by hand' }) };
}
