import type { BuildingLayout, ModuleLayout, RoofRecord } from '../roof/record.ts';
import { recordScene } from '../sun/record-scene.ts';
import { solsticeRowGap } from '../sun/row-shading.ts';
import { sunYear, type SunYear } from '../sun/sun-year.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { InputError } from '../units/input-error.ts';
import { measured, missing, type Measured } from '../units/measured.ts';
import { energyAssumptions, energyOf, rawEnergyKwh } from './energy.ts';
import { fitBuilding, type BuildingFit, type PlaneFit } from './fit-building.ts';
import { checkFitOptions, type FitOptions } from './fit-options.ts';
import { keepClearOf, sumOf, usableOf } from './fit-parts.ts';
import { moduleLight, type ModuleLight } from './module-light.ts';
import type { RackSpec } from './module-spec.ts';
import { obstructionCosts } from './obstruction-costs.ts';
import { needMet } from './need.ts';
import { countSensitivity } from './sensitivity.ts';
import { shadedGroundFinder } from './shaded-ground.ts';

export interface FitProgress {
  readonly onProgress?: (fraction: number) => void;
  readonly shouldStop?: () => boolean;
}

/**
 * What fits on the roofs of a record: keep-clear zones under the rule set, usable area with ±, module places, energy
 * against the need. Pure: the record given stays as it is, equal input gives equal output. Local code and a licensed
 * person decide about access and wind; loads, fixing and wiring are not judged.
 *
 * @param surface  Height raster of the measured cloud, for shade from trees and neighbours; without it shade comes from
 *   what the record itself holds (planes, parapets, obstructions of all buildings).
 * @throws InputError for options that cannot be used; Error 'stopped' when `shouldStop` says so.
 */
export function fitRecord(record: RoofRecord, options: FitOptions, surface?: SurfaceModel, progress: FitProgress = {}): RoofRecord {
  const checked = checkFitOptions(options);
  const { latitudeDeg, longitudeDeg } = checked;
  const place = latitudeDeg !== null && longitudeDeg !== null ? { latitudeDeg, longitudeDeg } : null;
  const year = place ? sunYear({ ...checked, ...place, gridToTrueDeg: record.frame.gridToTrueDeg }) : null;
  const why = place ? 'shade was not asked for' : 'latitude and longitude are not known; give them, or a projection';
  const scene = year && checked.shade ? recordScene(record, surface) : null;
  const shadedGround = shadedGroundFinder(checked, scene, year);
  const rack = rackFor(checked);
  const east = rack?.kind === 'east-west';
  const buildings = record.buildings.map((building, i): LitBuilding => {
    if (progress.shouldStop?.()) throw new Error('stopped');
    progress.onProgress?.(i / record.buildings.length);
    const fit = fitBuilding(record, building, {
      ...checked, rack, shadedGround, wantedFacingDeg: east ? 90 : (latitudeDeg ?? 1) >= 0 ? 180 : 0,
    });
    const light = scene && year ? fit.planes.map(({ layout }) => moduleLight(scene, layout.modules, year, checked.albedo)) : null;
    return {
      fit, light,
      sensitivity: checked.draws > 0 ? countSensitivity(fit, checked, record.frame.gridToTrueDeg) : null,
      costs: checked.costs
        ? obstructionCosts(fit, checked, scene && year && light ? { scene, year, light } : null, record.frame.gridToTrueDeg) : [],
    };
  });
  progress.onProgress?.(1);
  const planes = buildings.flatMap(({ fit }) => fit.planes);
  return {
    ...record,
    keepClear: keepClearOf(planes, checked.rules),
    usable: usableOf(planes),
    layout: layoutOf(buildings, checked, year, surface !== undefined, why),
  };
}

interface LitBuilding {
  readonly fit: BuildingFit;
  /** Per plane, per module; null without irradiation or shade. */
  readonly light: readonly (readonly ModuleLight[])[] | null;
  readonly sensitivity: ReturnType<typeof countSensitivity> | null;
  readonly costs: ReturnType<typeof obstructionCosts>;
}

/** The rack with its row distance: given, or by the sun-angle rule. */
function rackFor({ rack, module, latitudeDeg }: FitOptions): RackSpec | null {
  if (!rack) return null;
  if (rack.rowGapM !== null) return { ...rack, rowGapM: rack.rowGapM };
  // Pairs back to back throw no shade on each other between slopes; a foot's width is left to walk (common practice, no source).
  if (rack.kind === 'east-west') return { ...rack, rowGapM: 0.3 };
  if (latitudeDeg === null) throw new InputError('tilt', 'needs --latitude for the distance between rows, or --row-gap-m.');
  const rise = (module.turn === 'upright' ? module.heightM : module.widthM) * Math.sin((rack.tiltDeg * Math.PI) / 180);
  const facing = rack.facingDeg === null ? (latitudeDeg >= 0 ? Math.PI : 0) : (rack.facingDeg * Math.PI) / 180;
  try {
    return { ...rack, rowGapM: solsticeRowGap(rise, facing, (latitudeDeg * Math.PI) / 180) };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new InputError('tilt', `at latitude ${latitudeDeg} the sun is down at 9 h on the winter solstice; give --row-gap-m.`);
  }
}

function layoutOf(
  buildings: readonly LitBuilding[], options: FitOptions, year: SunYear | null, hasSurface: boolean, why: string,
): ModuleLayout {
  const kw = options.module.ratedPowerW / 1000;
  const modules = buildings.flatMap(({ fit, light }) => fit.planes.flatMap((plane, p) => recordModules(plane, light?.[p] ?? null)));
  const allLight = buildings.every(({ light }) => light !== null) ? buildings.flatMap(({ light }) => light!.flat()) : null;
  const yearlyEnergyKwh = buildings.length === 0 ? missing('no buildings') : energyOf(allLight, year, options, why);
  const clearKwh = allLight && year?.sky === 'clear' ? rawEnergyKwh(allLight, options) : null;
  const only = buildings.length === 1 ? buildings[0]!.sensitivity : null;
  return {
    style: options.style, modules, count: modules.length,
    upperBound: buildings.reduce((sum, { fit }) => sum + boundOf(fit.planes), 0),
    ratedPowerKw: modules.length * kw, yearlyEnergyKwh, needKwh: options.needKwh,
    module: { widthM: options.module.widthM, heightM: options.module.heightM, ratedPowerW: options.module.ratedPowerW },
    assumptions: [
      'Rules are an example; local code and a licensed person decide. Loads, fixing and wiring are not judged.',
      ...energyAssumptions(year, options, clearKwh, hasSurface, why),
    ],
    ...(options.needKwh === null ? {} : { need: needMet(options.needKwh, yearlyEnergyKwh, modules.length, options.module) }),
    buildings: buildings.map((one) => buildingLayout(one, options, year, why)),
    ...(options.costs ? { costs: buildings.flatMap(({ costs }) => costs).toSorted((a, b) => b.modules - a.modules) } : {}),
    ...(only ? { sensitivity: only } : {}),
  };
}

const recordModules = ({ layout }: PlaneFit, light: readonly ModuleLight[] | null): ModuleLayout['modules'][number][] =>
  layout.modules.map((module, i) => ({
    id: `${module.plane}.m${i + 1}`, plane: module.plane, corners: module.corners, solarAccess: light?.[i]?.solarAccess ?? null,
  }));

const boundOf = (planes: readonly PlaneFit[]): number => planes.reduce((sum, { layout }) => sum + layout.upperBound, 0);

function buildingLayout({ fit, light, sensitivity }: LitBuilding, options: FitOptions, year: SunYear | null, why: string): BuildingLayout {
  const lit = light?.flat() ?? null;
  const count = fit.planes.reduce((sum, { layout }) => sum + layout.modules.length, 0);
  const usableM2: Measured = fit.planes.length === 0 ? missing('no roof planes') : sumOf(fit.planes.map(({ usable }) => usable.areaM2));
  return {
    id: fit.building.id, usableM2, count, upperBound: boundOf(fit.planes),
    ratedPowerKw: (count * options.module.ratedPowerW) / 1000,
    yearlyEnergyKwh: lit?.length === 0 ? measured(0, []) : energyOf(lit, year, options, why),
    solarAccess: lit && lit.length > 0 ? lit.reduce((sum, one) => sum + one.solarAccess, 0) / lit.length : null,
    ...(sensitivity ? { sensitivity } : {}),
  };
}
