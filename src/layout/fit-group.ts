import { refusedIds, withoutRefused } from '../roof/refused-ids.ts';
import type { CountSensitivity, KeepClear, ModuleLayout, RoofRecord, Usable } from '../roof/record.ts';
import type { ShadeScene } from '../sun/horizon.ts';
import { readyScene, recordScene, sceneNear } from '../sun/record-scene.ts';
import { REACH } from '../sun/relief.ts';
import { sunYear, type SunYear } from '../sun/sun-year.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import type { MeasuredValue } from '../units/measured.ts';
import { fitBuilding, type BuildingFit } from './fit-building.ts';
import type { FitOptions } from './fit-options.ts';
import { usablePlane, zonesOnPlane } from './fit-parts.ts';
import { moduleLight, type ModuleLight } from './module-light.ts';
import { obstructionCosts, type ObstructionCost } from './obstruction-costs.ts';
import { dimPlaneFinder } from './plane-yield.ts';
import { rackFor } from './rack-row-gap.ts';
import { contentBox, recordNear } from './record-window.ts';
import { countSensitivity } from './sensitivity.ts';
import { shadedGroundFinder } from './shaded-ground.ts';

/** Some buildings with all that is needed to fit them: plain data that crosses threads. */
export interface FitGroup {
  /** The buildings to fit and those near enough to matter to them. */
  readonly record: RoofRecord;
  readonly buildings: readonly string[];
  /** Checked. */
  readonly options: FitOptions;
  /** What throws shade on them; null when shade is not computed. */
  readonly scene: ShadeScene | null;
}

/** One building fitted, as plain data. */
export interface FittedBuilding {
  readonly id: string;
  readonly zones: KeepClear['zones'];
  readonly usable: readonly (Usable['planes'][number] & { readonly usableSlopeAreaM2: MeasuredValue })[];
  readonly modules: ModuleLayout['modules'];
  /** One for each module; null without irradiation or shade. */
  readonly light: readonly ModuleLight[] | null;
  readonly upperBound: number;
  readonly sensitivity: CountSensitivity | null;
  readonly costs: readonly ObstructionCost[];
}

/** Groups of a record: a few dozen at most, whatever the number of threads, so that the answer is the same for any. */
const MOST_GROUPS = 24;
/** Roof planes of other buildings that overlap in plan lie within this. [m] */
export const NEIGHBOURS = 1;

/**
 * Splits a record into groups of buildings that can be fitted apart. What a person refused is left out; a refused thing
 * throws no shade either.
 *
 * @param options  Checked.
 * @param surface  Of the measured cloud; null when only the record throws shade.
 */
export function fitGroups(record: RoofRecord, options: FitOptions, surface: SurfaceModel | null): FitGroup[] {
  const hasPlace = options.latitudeDeg !== null && options.longitudeDeg !== null;
  const scene = options.shade && hasPlace ? standingScene(record, recordScene(record, surface ?? undefined)) : null;
  const standing = withoutRefused(record);
  const size = Math.ceil(standing.buildings.length / MOST_GROUPS);
  const groups: FitGroup[] = [];
  for (let from = 0; from < standing.buildings.length; from += size) {
    const own = standing.buildings.slice(from, from + size);
    const box = contentBox(own);
    groups.push({
      record: recordNear(standing, box, NEIGHBOURS), buildings: own.map(({ id }) => id), options,
      scene: scene && box ? sceneNear(scene, box, REACH) : scene,
    });
  }
  return groups;
}

/** A scene without the solids of what was refused. @param whole  Of the record with everything, so that heights measured on refused things are gone. */
export function standingScene(record: RoofRecord, whole: ShadeScene): ShadeScene {
  const refused = refusedIds(record);
  return refused.size === 0 ? whole : { ...whole, solids: whole.solids.filter(({ id }) => !refused.has(id)) };
}

/** The sun of a record's site; null when its place on the Earth is not known. */
export function yearOf(record: RoofRecord, options: FitOptions): SunYear | null {
  const { latitudeDeg, longitudeDeg } = options;
  if (latitudeDeg === null || longitudeDeg === null) return null;
  return sunYear({ ...options, latitudeDeg, longitudeDeg, gridToTrueDeg: record.frame.gridToTrueDeg });
}

/** Fits the buildings of a group. @param onProgress  Share done, 0 to 1. */
export function fitGroup({ record, buildings, options, scene: shading }: FitGroup, onProgress?: (fraction: number) => void): FittedBuilding[] {
  const year = yearOf(record, options);
  const scene = shading && readyScene(shading);
  const shadedGround = shadedGroundFinder(options, scene, year);
  const isDim = dimPlaneFinder(options, year);
  const rack = rackFor(options);
  const wantedFacingDeg = wantedFacing(options);
  const { gridToTrueDeg } = record.frame;
  return buildings.map((id, i): FittedBuilding => {
    const building = record.buildings.find((candidate) => candidate.id === id)!;
    const fit = fitBuilding(record, building, { ...options, rack, shadedGround, isDim, wantedFacingDeg });
    const light = scene && year ? fit.planes.map(({ layout }) => moduleLight(scene, layout.modules, year, options.albedo)) : null;
    const costs = options.costs ? obstructionCosts(fit, options, scene && year && light ? { scene, year, light } : null, gridToTrueDeg) : [];
    const sensitivity = options.draws > 0 ? countSensitivity(fit, options, gridToTrueDeg) : null;
    onProgress?.((i + 1) / buildings.length);
    return fitted(fit, light, sensitivity, costs);
  });
}

/** Bearing racks should face where none was asked for: the equator, or east for pairs. [deg] */
export const wantedFacing = ({ rack, latitudeDeg }: FitOptions): number => (rack?.kind === 'east-west' ? 90 : (latitudeDeg ?? 1) >= 0 ? 180 : 0);

function fitted(fit: BuildingFit, light: readonly (readonly ModuleLight[])[] | null, sensitivity: CountSensitivity | null, costs: readonly ObstructionCost[]): FittedBuilding {
  return {
    id: fit.building.id,
    zones: fit.planes.flatMap(zonesOnPlane),
    usable: fit.planes.map(usablePlane),
    modules: fit.planes.flatMap(({ layout }, p) => layout.modules.map((module, i) => ({
      id: `${module.plane}.m${i + 1}`, plane: module.plane, corners: module.corners, solarAccess: light?.[p]?.[i]?.solarAccess ?? null,
    }))),
    light: light?.flat() ?? null,
    upperBound: fit.planes.reduce((sum, { layout }) => sum + layout.upperBound, 0),
    sensitivity, costs,
  };
}
