import type { Vector3 } from '../geometry/vector.ts';
import type { RoofPlane } from '../roof/record.ts';
import { freeYearKwhM2 } from '../sun/solar-access.ts';
import type { SunYear } from '../sun/sun-year.ts';
import { USUAL_FIT_OPTIONS, type FitOptions } from './fit-options.ts';

const LEVEL: Vector3 = [0, 0, 1];

/** Why a plane is left empty for the little light its slope and bearing bring; null when it may be used. @param normal  Unit, upward, grid frame. */
export type DimPlaneFinder = (normal: Vector3) => string | null;

/**
 * Judges planes by the least yield asked for. Under a free sky: what shade takes is judged square by square elsewhere.
 * Nothing is dim when none is asked for.
 *
 * @param year  Null where the place on the Earth is not known: no plane is judged.
 */
export function dimPlaneFinder({ leastPlaneYield: least, albedo }: FitOptions, year: SunYear | null): DimPlaneFinder {
  if (least === 0 || !year) return () => null;
  const level = freeYearKwhM2(LEVEL, year, albedo);
  // No light on the level at all, as with monthly values of 0: nothing to compare with.
  if (!(level > 0)) return () => null;
  return (normal) => {
    const share = freeYearKwhM2(normal, year, albedo) / level;
    return share < least ? `its slope and bearing bring ${share.toFixed(3)} of the level's light in a year, less than the least yield of a plane, ${least}` : null;
  };
}

/** Planes that are dim, by id, with the reason. */
export const dimPlanesOf = (planes: readonly Pick<RoofPlane, 'id' | 'normal'>[], isDim: DimPlaneFinder): ReadonlyMap<string, string> =>
  new Map(planes.flatMap(({ id, normal }): [string, string][] => {
    const because = isDim(normal);
    return because === null ? [] : [[id, because]];
  }));

/** What was done about planes with little light, one sentence or two. */
export function planeYieldSays({ leastPlaneYield: least, latitudeDeg, longitudeDeg, monthlyKwhM2 }: FitOptions): string {
  if (least === 0) return 'Planes are used whatever light their slope and bearing bring.';
  if (latitudeDeg === null || longitudeDeg === null) return `The least yield of a plane, ${least}, was not looked at: latitude and longitude are not known.`;
  const source = least === USUAL_FIT_OPTIONS.leastPlaneYield ? ' (common practice, no source)' : '';
  const clear = monthlyKwhM2 ? '' : ' A clear sky makes planes that face away from the sun darker than real years do: near the limit, give monthly values.';
  return `Planes whose slope and bearing bring less than ${least} of the level's light in a year${source} are left empty and count as facing away.${clear}`;
}
