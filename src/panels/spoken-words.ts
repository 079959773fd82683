import { SIGMAS_IN_95 } from '../survey/measure/uncertainty.ts';
import type { Snap } from '../survey/measure/snap.ts';
import { shortLength } from '../units/unit-in-use.ts';
import { plainReading, type UnitChoice } from '../units/written-reading.ts';
import type { PointedPart } from '../viewer/pick-part.ts';
import type { Spoken, Store } from './store.ts';

/** Before a click: what it would take. */
export function takeWords(snap: Snap, offMm: number, byFinger: boolean, units: UnitChoice): Spoken {
  if (snap.pick.landedOn === 'point') return { strong: 'Would take a bare point', text: `, nothing to snap to. ${byFinger ? 'Tap again to take it.' : 'Arrows move it, Enter takes it.'}` };
  if (snap.pick.landedOn === 'typed') return { strong: snap.name === 'this place' ? 'Would take this place' : `Would take ${snap.name}`, text: byFinger ? '. Tap again to take it.' : '. Enter or a click takes it.' };
  const off = snap.pick.landedOn === 'plane' || offMm < 1 ? '' : `, ${shortLength(offMm / 1000, units)} from the pointer`;
  return { strong: `Would take ${snap.name}`, text: `${off}${knownTo(snap, units)}. ${byFinger ? 'Tap again to take it.' : 'Shift takes a bare point, arrows move it by millimetres.'}` };
}

/** How sure the place of a corner is, which it hands on to what is measured from it. */
function knownTo({ pick: { landedOn, sigmaM } }: Snap, units: UnitChoice): string {
  if (landedOn !== 'corner') return '';
  const [plan, height] = [SIGMAS_IN_95 * Math.max(sigmaM[0], sigmaM[1]), SIGMAS_IN_95 * sigmaM[2]];
  return `, known to ± ${shortLength(plan, units)} in plan and ± ${shortLength(height, units)} in height`;
}

/** What stands under the pointer, or was chosen by keys. */
export function pointedWords(part: PointedPart, { record, units }: Store, isChosen = false): Spoken {
  const click = isChosen ? '' : ' Click to read it.';
  const building = record.value?.buildings.find(({ id }) => id === part.building);
  const several = (record.value?.buildings.length ?? 0) > 1 && building ? ` of ${building.id}` : '';
  const plane = building?.roofPlanes.find(({ id }) => id === part.id);
  if (plane) return { strong: `Plane ${part.name}${several}`, text: `, pitch ${plainReading(plane.pitchDeg, 'pitch', units.value)}.${click}` };
  const edge = building?.edges.find(({ id }) => id === part.id);
  if (edge) return { strong: `${part.name}${several}`, text: `, ${edge.kind}, ${plainReading(edge.slopeLengthM, 'length', units.value)}.` };
  const thing = building?.obstructions.find(({ id }) => id === part.id);
  if (thing) return { strong: `${part.name}${several}`, text: `, ${thing.note ?? thing.shape}, height above roof ${plainReading(thing.heightAboveRoofM, 'length', units.value)}.` };
  return { strong: `${part.name}${several}`, text: `.${click}` };
}
