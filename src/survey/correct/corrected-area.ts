import type { Building } from '../../roof/record.ts';

/** A building whose planes were changed one by one: what was measured of all of them together no longer speaks of it. */
export function withoutRoofArea(building: Building): Building {
  const { roofArea: _, ...rest } = building;
  return rest;
}
