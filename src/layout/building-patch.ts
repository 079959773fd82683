import type { BuildingLayout, KeepClear, ModuleLayout, RoofRecord, Usable } from '../roof/record.ts';
import { isKnown, measured, missing, type Measured, type MeasuredValue, type UncertaintyPart } from '../units/measured.ts';
import { sumOf } from './fit-parts.ts';
import { needMet } from './need.ts';

/** What changed of a fit on one building. */
export interface BuildingPatch {
  readonly building: string;
  /** Planes whose ground was worked out again; null when none was. */
  readonly ground: { readonly planes: readonly string[]; readonly zones: KeepClear['zones']; readonly usable: Usable['planes'] } | null;
  /** All modules of the building. */
  readonly modules: ModuleLayout['modules'];
  readonly summary: BuildingLayout;
}

/** Ids of all planes of a building, refused ones as well. */
export const planesOfBuilding = (record: RoofRecord, building: string): Set<string> =>
  new Set(record.buildings.find(({ id }) => id === building)?.roofPlanes.map(({ id }) => id));

/**
 * A record with the fit of one building replaced, and every sum following. What the building's obstructions cost, and how sure
 * its count is, is left out until all is fitted again; the layout says of which buildings.
 *
 * @throws RangeError when the record holds no fit.
 */
export function withBuildingPatch(record: RoofRecord, { building, ground, modules, summary }: BuildingPatch): RoofRecord {
  const { keepClear, usable, layout } = record;
  if (!keepClear || !usable || !layout?.buildings) throw new RangeError('There is no layout to change.');
  const planes = planesOfBuilding(record, building);
  const all = replaced(layout.modules, ({ plane }) => planes.has(plane), modules);
  const buildings = replaced(layout.buildings, ({ id }) => id === building, [summary]);
  const things = new Set(record.buildings.find(({ id }) => id === building)?.obstructions.map(({ id }) => id));
  // Draws of the whole layout are those of its only building: they spoke of it as it was.
  const { sensitivity: _, costs, changedSince = [], ...rest } = layout;
  const hadCare = costs !== undefined || layout.buildings.some(({ sensitivity }) => sensitivity !== undefined);
  return {
    ...record,
    ...(ground ? groundOf(keepClear, usable, ground) : {}),
    layout: {
      ...rest, modules: all, buildings, ...totals(layout, all.length, buildings),
      ...(hadCare ? { changedSince: [...new Set([...changedSince, building])] } : {}),
      ...(costs ? { costs: costs.filter(({ obstruction }) => !things.has(obstruction)) } : {}),
    },
  };
}

function groundOf(keepClear: KeepClear, usable: Usable, ground: NonNullable<BuildingPatch['ground']>): Pick<RoofRecord, 'keepClear' | 'usable'> {
  const anew = new Set(ground.planes);
  const planes = replaced(usable.planes, ({ id }) => anew.has(id), ground.usable);
  const areas = planes.map(({ usableSlopeAreaM2 }) => usableSlopeAreaM2).filter((area): area is MeasuredValue => isKnown(area));
  return {
    keepClear: { ...keepClear, zones: replaced(keepClear.zones, ({ plane }) => anew.has(plane), ground.zones) },
    usable: { planes, totalM2: areas.length === 0 ? missing('no roof planes') : sumOf(areas) },
  };
}

function totals(layout: ModuleLayout, count: number, buildings: readonly BuildingLayout[]): Partial<ModuleLayout> {
  const yearlyEnergyKwh = together(buildings.map((one) => one.yearlyEnergyKwh));
  const watts = layout.module?.ratedPowerW ?? (layout.count > 0 ? (layout.ratedPowerKw * 1000) / layout.count : 0);
  return {
    count, upperBound: buildings.reduce((sum, one) => sum + one.upperBound, 0), ratedPowerKw: (count * watts) / 1000, yearlyEnergyKwh,
    ...(layout.needKwh !== null && layout.module ? { need: needMet(layout.needKwh, yearlyEnergyKwh, count, layout.module) } : {}),
  };
}

/** Energies of one site share every cause (climate, sky model, losses), so their parts add up straight, name by name. */
function together(energies: readonly Measured[]): Measured {
  const parts = new Map<string, UncertaintyPart>();
  let value = 0;
  for (const energy of energies) {
    if (!isKnown(energy)) return energy;
    value += energy.value;
    for (const { name, u95 } of energy.parts ?? [{ name: 'energy', u95: energy.u95 }]) parts.set(name, { name, u95: (parts.get(name)?.u95 ?? 0) + u95 });
  }
  return measured(value, [...parts.values()]);
}

/** A list with some entries taken out and others put where the first of them stood. */
function replaced<Entry>(list: readonly Entry[], goes: (entry: Entry) => boolean, by: readonly Entry[]): Entry[] {
  const at = list.findIndex(goes);
  const before = at < 0 ? list.length : at;
  return [...list.slice(0, before), ...by, ...list.slice(before).filter((entry) => !goes(entry))];
}
