import type { Building, RoofPlane } from '../../roof/record.ts';
import { isKnown, type Measured, type MeasuredValue } from '../../units/measured.ts';

export type AreaName = 'slopeAreaM2' | 'planAreaM2';

/**
 * A building before its planes change, with the area of all of them together as it is afterwards: it grows by what they grow,
 * and the correction's doubt counts once for all of them. Adding up planes that are each on their own would take for
 * independent what one offset does to all.
 *
 * @param planes  Those of the building, corrected.
 * @param restated  The total grown by so much, with its parts.
 * @returns Without such an area where there was none, or an area of a plane is not known.
 */
export function withRoofAreaOf(building: Building, planes: readonly RoofPlane[], restated: (total: MeasuredValue, grown: number, area: AreaName) => Measured): Building {
  const { roofArea, ...rest } = building;
  if (!roofArea) return building;
  const of = (area: AreaName): Measured | null => {
    const [total, before, after] = [roofArea[area], sum(building.roofPlanes, area), sum(planes, area)];
    return isKnown(total) && before !== null && after !== null ? restated(total, after - before, area) : null;
  };
  const [slopeAreaM2, planAreaM2] = [of('slopeAreaM2'), of('planAreaM2')];
  return slopeAreaM2 && planAreaM2 ? { ...building, roofArea: { slopeAreaM2, planAreaM2 } } : rest;
}

function sum(planes: readonly RoofPlane[], area: AreaName): number | null {
  let total = 0;
  for (const plane of planes) {
    const number = plane[area];
    if (!isKnown(number)) return null;
    total += number.value;
  }
  return total;
}
