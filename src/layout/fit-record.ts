import { fromPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import type { Region } from '../geometry/region.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { KeepClear, ModuleLayout, RoofRecord, Usable } from '../roof/record.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { measured, missing } from '../units/measured.ts';
import { fitBuilding, type BuildingFit, type PlaneFit } from './fit-building.ts';
import { checkFitOptions, type FitOptions } from './fit-options.ts';
import type { PlaneSite } from './plane-site.ts';

/**
 * What fits on the roofs of a record: keep-clear zones under the rule set, usable area with ±, module places, energy
 * against the need. Pure: the record given stays as it is, equal input gives equal output.
 *
 * @param surface  Height raster of the measured cloud, for shade from trees and neighbours; without it shade comes from
 *   what the record itself holds (planes, parapets, obstructions of all buildings).
 * @throws InputError for options that cannot be used.
 */
export function fitRecord(record: RoofRecord, options: FitOptions, surface?: SurfaceModel): RoofRecord {
  void surface;
  const checked = checkFitOptions(options);
  const fits = record.buildings.map((building) => fitBuilding(record, building, {
    ...checked, rack: null, wantedFacingDeg: 180, shadedGround: () => [],
  }));
  return { ...record, keepClear: keepClearOf(fits, checked), usable: usableOf(fits), layout: layoutOf(fits, checked) };
}

const onPlane = (site: PlaneSite, region: Region): Vector3[][] =>
  region.map((ring) => ring.map((at) => fromPlaneCoordinates(site.frame, at)));

function keepClearOf(fits: readonly BuildingFit[], options: FitOptions): KeepClear {
  const { name, source } = options.rules;
  return {
    ruleSet: { name, source: `${source.title}, ${source.edition}, ${source.date}` },
    zones: planesOf(fits).flatMap(({ usable: { site, zones } }) => zones.flatMap((zone) =>
      onPlane(site, zone.region).map((polygon) => ({ plane: site.plane.id, reason: zone.reason, because: zone.because, polygon })))),
  };
}

function usableOf(fits: readonly BuildingFit[]): Usable {
  const planes = planesOf(fits).map(({ usable }) => ({
    id: usable.site.plane.id, usableSlopeAreaM2: usable.areaM2, lostM2: usable.lostM2, polygons: onPlane(usable.site, usable.region),
  }));
  return { planes, totalM2: planes.length === 0 ? missing('no roof planes') : sumOf(planes.map((plane) => plane.usableSlopeAreaM2)) };
}

const sumOf = (areas: readonly { readonly value: number; readonly u95: number }[]) =>
  measured(areas.reduce((sum, one) => sum + one.value, 0), [{ name: 'planes', u95: Math.hypot(...areas.map((one) => one.u95)) }]);

function layoutOf(fits: readonly BuildingFit[], options: FitOptions): ModuleLayout {
  const modules = planesOf(fits).flatMap(({ layout }) => layout.modules.map((module, i) => ({
    id: `${module.plane}.m${i + 1}`, plane: module.plane, corners: module.corners, solarAccess: null,
  })));
  return {
    style: options.style, modules, count: modules.length,
    upperBound: planesOf(fits).reduce((sum, { layout }) => sum + layout.upperBound, 0),
    ratedPowerKw: (modules.length * options.module.ratedPowerW) / 1000,
    yearlyEnergyKwh: missing('irradiation not computed'), needKwh: null,
  };
}

const planesOf = (fits: readonly BuildingFit[]): readonly PlaneFit[] => fits.flatMap((fit) => fit.planes);
