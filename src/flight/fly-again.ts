import { isKnown } from '../units/measured.ts';
import type { Building, RoofRecord } from '../roof/record.ts';

/** One reason to photograph a place again, in words for the survey lead. */
export interface FlyAgain {
  readonly where: string;
  readonly why: string;
  readonly how: string;
}

export interface WantedCertainty {
  /** [deg] */
  readonly pitchU95Deg: number;
  /** Share of the slope area. */
  readonly areaU95Share: number;
}

/** Enough for module layout. Common practice, no source. */
export const DEFAULT_CERTAINTY: WantedCertainty = { pitchU95Deg: 0.5, areaU95Share: 0.02 };

/** What the record itself says was seen too poorly for the wanted certainty. */
export function flyAgain(record: RoofRecord, wanted: WantedCertainty = DEFAULT_CERTAINTY): FlyAgain[] {
  return record.buildings.flatMap((building) => [...poorPlanes(building, wanted), ...poorThings(building), ...unseenGround(building)]);
}

function poorPlanes(building: Building, wanted: WantedCertainty): FlyAgain[] {
  return building.roofPlanes.flatMap(({ id, pitchDeg, slopeAreaM2 }) => {
    const reasons: string[] = [];
    if (isKnown(pitchDeg) && pitchDeg.u95 > wanted.pitchU95Deg) reasons.push(`pitch is known to ±${pitchDeg.u95.toFixed(2)}° only`);
    if (isKnown(slopeAreaM2) && slopeAreaM2.u95 > wanted.areaU95Share * slopeAreaM2.value) {
      reasons.push(`slope area is known to ±${((100 * slopeAreaM2.u95) / slopeAreaM2.value).toFixed(1)} % only`);
    }
    if (reasons.length === 0) return [];
    return [{ where: id, why: reasons.join(', '), how: 'fly lower, or add oblique photos square to this plane' }];
  });
}

function poorThings(building: Building): FlyAgain[] {
  return building.obstructions
    .filter((thing) => thing.resolvability !== 'resolved')
    .map((thing) => ({ where: thing.id, why: `${thing.resolvability} for this survey`, how: 'halve the ground sample distance there, or measure it on site' }));
}

function unseenGround(building: Building): FlyAgain[] {
  if (isKnown(building.groundElevationM)) return [];
  return [{ where: building.id, why: 'no ground was seen beside it', how: 'include the ground around the building, or state its elevation' }];
}
