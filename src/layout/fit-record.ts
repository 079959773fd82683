import type { BuildingLayout, ModuleLayout, RoofRecord } from '../roof/record.ts';
import type { SunYear } from '../sun/sun-year.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { measured, missing, type Measured } from '../units/measured.ts';
import { energyAssumptions, energyOf, rawEnergyKwh } from './energy.ts';
import { fitGroup, fitGroups, yearOf, type FittedBuilding } from './fit-group.ts';
import { checkFitOptions, type FitOptions } from './fit-options.ts';
import { sumOf } from './fit-parts.ts';
import { planeYieldSays } from './plane-yield.ts';
import { needMet } from './need.ts';
import { dearestFirst } from './obstruction-costs.ts';

/** What was known of the surroundings when shade was computed. */
export interface ShadeGround {
  /** Heights of the measured cloud were at hand. */
  readonly hasSurface: boolean;
}

/**
 * What fits on the roofs of a record: keep-clear zones under the rule set, usable area with ±, module places, energy
 * against the need. Pure: the record given stays as it is, equal input gives equal output. Local code and a licensed
 * person decide about access and wind; loads, fixing and wiring are not judged.
 *
 * @param surface  Height raster of the measured cloud, for shade from trees and neighbours; without it shade comes from
 *   what the record itself holds (planes, parapets, obstructions of all buildings).
 * @throws InputError for options that cannot be used.
 */
export function fitRecord(record: RoofRecord, options: FitOptions, surface?: SurfaceModel): RoofRecord {
  const checked = checkFitOptions(options);
  const fitted = fitGroups(record, checked, surface ?? null).flatMap((group) => fitGroup(group));
  return joinFit(record, checked, fitted, { hasSurface: surface !== undefined });
}

/** Puts fitted buildings together in the order of the record. @param options  Checked. */
export function joinFit(record: RoofRecord, options: FitOptions, buildings: readonly FittedBuilding[], ground: ShadeGround): RoofRecord {
  const { name, source } = options.rules;
  const areas = buildings.flatMap(({ usable }) => usable.map(({ usableSlopeAreaM2 }) => usableSlopeAreaM2));
  return {
    ...record,
    keepClear: { ruleSet: { name, source: `${source.title}, ${source.edition}, ${source.date}` }, zones: buildings.flatMap(({ zones }) => zones) },
    usable: { planes: buildings.flatMap(({ usable }) => usable), totalM2: areas.length === 0 ? missing('no roof planes') : sumOf(areas) },
    layout: layoutOf(buildings, options, yearOf(record, options), ground),
  };
}

function layoutOf(buildings: readonly FittedBuilding[], options: FitOptions, year: SunYear | null, ground: ShadeGround): ModuleLayout {
  const why = whyNoEnergy(year);
  const modules = buildings.flatMap((one) => one.modules);
  const allLight = buildings.every(({ light }) => light !== null) ? buildings.flatMap(({ light }) => light!) : null;
  const yearlyEnergyKwh = buildings.length === 0 ? missing('no buildings') : energyOf(allLight, year, options, why);
  const clearKwh = allLight && year?.sky === 'clear' ? rawEnergyKwh(allLight, options) : null;
  const only = buildings.length === 1 ? buildings[0]!.sensitivity : null;
  return {
    style: options.style, modules, count: modules.length,
    upperBound: buildings.reduce((sum, { upperBound }) => sum + upperBound, 0),
    ratedPowerKw: (modules.length * options.module.ratedPowerW) / 1000, yearlyEnergyKwh, needKwh: options.needKwh,
    module: { widthM: options.module.widthM, heightM: options.module.heightM, ratedPowerW: options.module.ratedPowerW },
    assumptions: [
      'Rules are an example; local code and a licensed person decide. Loads, fixing and wiring are not judged.',
      ...energyAssumptions(year, options, clearKwh, ground.hasSurface, why),
      planeYieldSays(options),
    ],
    ...(options.needKwh === null ? {} : { need: needMet(options.needKwh, yearlyEnergyKwh, modules.length, options.module) }),
    buildings: buildings.map((one) => buildingLayout(one, options, year, why)),
    ...(options.costs ? { costs: buildings.flatMap(({ costs }) => costs).toSorted(dearestFirst) } : {}),
    ...(only ? { sensitivity: only } : {}),
  };
}

/** Why there is no energy, where there is none. */
export const whyNoEnergy = (year: SunYear | null): string => (year ? 'shade was not asked for' : 'latitude and longitude are not known; give them, or a projection');

/** Figures of one building. @param why  Said where there is no energy. */
export function buildingLayout({ id, usable, light, modules, upperBound, sensitivity }: FittedBuilding, options: FitOptions, year: SunYear | null, why: string): BuildingLayout {
  const usableM2: Measured = usable.length === 0 ? missing('no roof planes') : sumOf(usable.map(({ usableSlopeAreaM2 }) => usableSlopeAreaM2));
  return {
    id, usableM2, count: modules.length, upperBound,
    ratedPowerKw: (modules.length * options.module.ratedPowerW) / 1000,
    yearlyEnergyKwh: light?.length === 0 ? measured(0, []) : energyOf(light, year, options, why),
    solarAccess: light && light.length > 0 ? light.reduce((sum, one) => sum + one.solarAccess, 0) / light.length : null,
    ...(sensitivity ? { sensitivity } : {}),
  };
}
