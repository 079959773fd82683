import { planeElevationAt } from '../geometry/plane.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { partNames } from '../roof/part-names.ts';
import type { Building, RoofPlane, RoofRecord } from '../roof/record.ts';
import { regularRings } from '../roof/regular-rings.ts';
import { InputError } from '../units/input-error.ts';
import type { Measured } from '../units/measured.ts';
import { northOf } from './north.ts';
import { ringsOfUsable } from './usable-rings.ts';

export type Property = string | number | boolean | null;

/** Geometry in local-frame metres. A polygon is an outer ring (counter-clockwise) and holes (clockwise), not closed. */
export type FeatureShape =
  | { readonly kind: 'polygon'; readonly rings: readonly (readonly Vector3[])[] }
  | { readonly kind: 'line'; readonly path: readonly Vector3[] }
  | { readonly kind: 'point'; readonly at: Vector3 };

export interface Feature {
  readonly id: string;
  readonly shape: FeatureShape | null;
  readonly properties: Readonly<Record<string, Property>>;
}

/** All things of one meaning. Names are ASCII and carry units, so that they serve as table, column and property names. */
export interface FeatureLayer {
  readonly name: string;
  readonly title: string;
  readonly features: readonly Feature[];
}

/** Every layer of a record that holds something, in a fixed order. */
export function featureLayers(record: RoofRecord): FeatureLayer[] {
  const planes = planesById(record);
  const each = (make: (building: Building) => Feature[]): Feature[] => record.buildings.flatMap(make);
  const layers: FeatureLayer[] = [
    { name: 'buildings', title: 'Buildings', features: each((building) => [buildingFeature(building)]) },
    { name: 'roof_planes', title: 'Roof planes', features: each((building) => building.roofPlanes.map((plane) => planeFeature(plane, building, northOf(record)))) },
    { name: 'edges', title: 'Edges', features: each(edgeFeatures) },
    { name: 'regular_outlines', title: 'Roof planes with sides drawn to rules', features: each(regularFeatures) },
    { name: 'parapets', title: 'Parapets', features: each(parapetFeatures) },
    { name: 'obstructions', title: 'Obstructions', features: each((building) => obstructionFeatures(building, planes)) },
    { name: 'small_features', title: 'Small features', features: smallFeatures(record) },
    { name: 'low_points', title: 'Low points', features: each(lowPointFeatures) },
    { name: 'ponds', title: 'What could be under water', features: each(pondFeatures) },
    { name: 'level_lines', title: 'Level lines of the roof', features: each(levelLineFeatures) },
    { name: 'keep_clear', title: 'Keep-clear zones', features: keepClearFeatures(record) },
    { name: 'usable_area', title: 'Usable area', features: usableFeatures(record) },
    { name: 'modules', title: 'Module places', features: moduleFeatures(record) },
    { name: 'readings', title: 'Readings', features: readingFeatures(record) },
  ];
  const names = partNames(record);
  return layers.filter((layer) => layer.features.length > 0).map((layer) => ({ ...layer, features: layer.features.map((feature) => named(feature, names)) }));
}

/** Puts the short name used on drawings beside the id. */
function named(feature: Feature, names: ReadonlyMap<string, string>): Feature {
  const name = names.get(feature.id);
  if (name === undefined) return feature;
  const { id, ...rest } = feature.properties;
  return { ...feature, properties: { id: id!, name, ...rest } };
}

export function planesById(record: RoofRecord): Map<string, RoofPlane> {
  return new Map(record.buildings.flatMap((building) => building.roofPlanes.map((plane): [string, RoofPlane] => [plane.id, plane])));
}

/** @throws InputError when a thing names a plane the record does not hold. */
export function planeNamed(planes: ReadonlyMap<string, RoofPlane>, id: string, owner: string): RoofPlane {
  const plane = planes.get(id);
  if (plane === undefined) throw new InputError(owner, `stands on plane "${id}", which the record does not hold.`);
  return plane;
}

export const liftOnto = (plane: RoofPlane, ring: readonly Vector2[]): Vector3[] =>
  ring.map((at): Vector3 => [at[0], at[1], planeElevationAt(plane, at)]);

/** Three columns of a measured number: value, ± and, where there is none, the reason. */
function columns(name: string, unit: string, number: Measured): Record<string, Property> {
  const suffix = unit === '' ? '' : `_${unit}`;
  return number.value === null
    ? { [`${name}${suffix}`]: null, [`${name}_u95${suffix}`]: null, [`${name}_missing`]: number.why }
    : { [`${name}${suffix}`]: number.value, [`${name}_u95${suffix}`]: number.u95, [`${name}_missing`]: null };
}

function buildingFeature(building: Building): Feature {
  const ground = building.groundElevationM;
  const heights = building.roofPlanes.flatMap((plane) => plane.outline.map((corner) => corner[2]));
  // Without a seen ground the outline lies at the lowest corner of the roof.
  const base = ground.value ?? Math.min(...heights);
  return {
    id: building.id,
    shape: heights.length === 0 && ground.value === null ? null : { kind: 'polygon', rings: [building.outline.map(([x, y]): Vector3 => [x, y, base])] },
    properties: {
      id: building.id,
      ...columns('ground_elevation_local', 'm', ground),
      plane_count: building.roofPlanes.length,
      obstruction_count: building.obstructions.length,
    },
  };
}

function planeFeature(plane: RoofPlane, building: Building, north: 'true' | 'grid'): Feature {
  return {
    id: plane.id,
    shape: { kind: 'polygon', rings: [plane.outline, ...plane.holes] },
    properties: {
      id: plane.id,
      building: building.id,
      ...columns('pitch', 'deg', plane.pitchDeg),
      ...columns('azimuth', 'deg', plane.azimuthDeg),
      azimuth_from_north: north,
      ...columns('slope_area', 'm2', plane.slopeAreaM2),
      ...columns('plan_area', 'm2', plane.planAreaM2),
      hole_count: plane.holes.length,
      point_count: plane.pointCount,
      residual_rms_m: plane.residualRmsM,
      degrees_of_freedom: plane.evidence?.degreesOfFreedom ?? null,
      corners_off_plane_m: plane.evidence?.cornersOffPlaneM ?? null,
    },
  };
}

function edgeFeatures(building: Building): Feature[] {
  return building.edges.map((edge) => ({
    id: edge.id,
    shape: { kind: 'line', path: [edge.from, edge.to] },
    properties: {
      id: edge.id,
      building: building.id,
      edge_kind: edge.kind,
      planes: edge.planes.join(' '),
      ...columns('slope_length', 'm', edge.slopeLengthM),
      measured_as: edge.measuredAs ?? null,
      sideways_u95_m: edge.positionM?.value == null ? null : edge.positionM.u95,
      converted_from: edge.convertedFrom?.measuredAs ?? null,
      converted_by_m: edge.convertedFrom?.offsetM.value ?? null,
      converted_u95_m: edge.convertedFrom?.offsetM.value == null ? null : edge.convertedFrom.offsetM.u95,
      rules_kept: edge.regular?.kept.join(', ') ?? null,
      rules_refused: edge.regular?.refused.join(', ') ?? null,
      rules_least_p: edge.regular?.tests?.length ? Math.min(...edge.regular.tests.map(({ pValue }) => pValue)) : null,
      rules_shift_m: edge.regular?.shiftM ?? null,
      note: edge.note ?? null,
    },
  }));
}

/** Outlines with their sides drawn to rules, beside those as measured; without what a person left out. */
function regularFeatures(building: Building): Feature[] {
  return building.roofPlanes.flatMap((plane) => {
    const rings = regularRings(plane, building);
    if (!rings) return [];
    const id = `${plane.id}.regular`;
    return [{
      id, shape: { kind: 'polygon' as const, rings: [rings.outline, ...rings.holes] },
      properties: { id, building: building.id, roof_plane: plane.id, greatest_shift_m: plane.regular!.greatestShiftM },
    }];
  });
}

function parapetFeatures(building: Building): Feature[] {
  return building.parapets.map((parapet) => ({
    id: parapet.id,
    shape: { kind: 'line', path: parapet.path },
    properties: {
      id: parapet.id,
      building: building.id,
      ...columns('height_above_roof', 'm', parapet.heightAboveRoofM),
      ...columns('thickness', 'm', parapet.thicknessM),
    },
  }));
}

function obstructionFeatures(building: Building, planes: ReadonlyMap<string, RoofPlane>): Feature[] {
  return building.obstructions.map((thing) => ({
    id: thing.id,
    shape: { kind: 'polygon', rings: [liftOnto(planeNamed(planes, thing.onPlane, `obstruction ${thing.id}`), thing.footprint)] },
    properties: {
      id: thing.id,
      building: building.id,
      on_plane: thing.onPlane,
      shape: thing.shape,
      ...columns('plan_area', 'm2', thing.planAreaM2),
      ...columns('height_above_roof', 'm', thing.heightAboveRoofM),
      resolvability: thing.resolvability,
      note: thing.note ?? null,
    },
  }));
}

function lowPointFeatures(building: Building): Feature[] {
  return building.lowPoints.map((point) => ({
    id: point.id,
    shape: { kind: 'point', at: point.at },
    properties: {
      id: point.id,
      building: building.id,
      ...columns('depth', 'm', point.depthM),
      ...columns('drained_plan_area', 'm2', point.drainedPlanAreaM2),
      verdict: point.verdict,
      cues: point.cues?.join(' ') ?? null,
      ...(point.positionM === undefined ? { place_u95_m: null, place_missing: null } : point.positionM.value === null ? { place_u95_m: null, place_missing: point.positionM.why } : { place_u95_m: point.positionM.u95, place_missing: null }),
      ...(point.pond === undefined ? { pond_plan_area_m2: null, pond_plan_area_u95_m2: null } : columns('pond_plan_area', 'm2', point.pond.planAreaM2)),
      note: point.note ?? null,
    },
  }));
}

/** Surfaces of the water that hollows hold before it spills, on the dry roof as it was measured. */
function pondFeatures(building: Building): Feature[] {
  return building.lowPoints.flatMap(({ id, pond, depthM }) => (pond === undefined ? [] : [{
    id: pondId(id),
    shape: { kind: 'polygon' as const, rings: [pond.outline] },
    properties: { id: pondId(id), building: building.id, low_point: id, ...columns('depth', 'm', depthM), ...columns('plan_area', 'm2', pond.planAreaM2) },
  }]));
}

/** Lines in which two boards meet without a fall along them. */
function levelLineFeatures(building: Building): Feature[] {
  return building.lowPoints.flatMap(({ id, lowLine, note }) => (lowLine === undefined ? [] : [{
    id: levelLineId(id),
    shape: { kind: 'line' as const, path: lowLine },
    properties: { id: levelLineId(id), building: building.id, low_point: id, note: note ?? null },
  }]));
}

export const pondId = (lowPoint: string): string => `${lowPoint}.pond`;
export const levelLineId = (lowPoint: string): string => `${lowPoint}.line`;

function smallFeatures(record: RoofRecord): Feature[] {
  return record.smallFeatures.map((thing) => ({
    id: thing.id,
    shape: pathShape(thing.at),
    properties: {
      id: thing.id,
      feature_kind: thing.kind,
      on_plane: thing.onPlane,
      ...columns('width', 'm', thing.widthM),
      ...columns('height', 'm', thing.heightM),
      resolvability: thing.resolvability,
      why: thing.why,
      verify_on_site: thing.verifyOnSite,
      proposed_by: thing.proposedBy,
      note: thing.note ?? null,
    },
  }));
}

function pathShape(path: readonly Vector3[]): FeatureShape | null {
  if (path.length === 0) return null;
  return path.length === 1 ? { kind: 'point', at: path[0]! } : { kind: 'line', path };
}

function keepClearFeatures(record: RoofRecord): Feature[] {
  const zones = record.keepClear?.zones ?? [];
  return zones.map((zone, i) => ({
    id: `k${i + 1}`,
    shape: { kind: 'polygon', rings: [zone.polygon] },
    properties: { id: `k${i + 1}`, on_plane: zone.plane, reason: zone.reason, because: zone.because },
  }));
}

function usableFeatures(record: RoofRecord): Feature[] {
  return (record.usable?.planes ?? []).flatMap((plane) =>
    ringsOfUsable(plane.polygons).map((rings, i) => ({
      id: `u.${plane.id}.${i + 1}`,
      shape: { kind: 'polygon' as const, rings },
      properties: {
        id: `u.${plane.id}.${i + 1}`,
        on_plane: plane.id,
        ...columns('plane_usable_slope_area', 'm2', plane.usableSlopeAreaM2),
        plane_lost_edge_m2: plane.lostM2.edge,
        plane_lost_obstruction_m2: plane.lostM2.obstruction,
        plane_lost_access_m2: plane.lostM2.access,
        plane_lost_shade_m2: plane.lostM2.shade,
        plane_lost_other_m2: plane.lostM2.other,
      },
    })),
  );
}

function moduleFeatures(record: RoofRecord): Feature[] {
  return (record.layout?.modules ?? []).map((module) => ({
    id: module.id,
    shape: { kind: 'polygon', rings: [module.corners] },
    properties: { id: module.id, on_plane: module.plane, solar_access: module.solarAccess },
  }));
}

function readingFeatures(record: RoofRecord): Feature[] {
  return record.readings.map((reading) => ({
    id: reading.id,
    shape: pathShape(reading.picks.map((pick) => pick.at)),
    properties: {
      id: reading.id,
      reading_kind: reading.kind,
      ...(reading.valueM === undefined ? { value_m: null, value_u95_m: null } : columns('value', 'm', reading.valueM)),
      ...(reading.valueM2 === undefined ? { value_m2: null, value_u95_m2: null } : columns('value', 'm2', reading.valueM2)),
      ...(reading.valueDeg === undefined ? { value_deg: null, value_u95_deg: null } : columns('value', 'deg', reading.valueDeg)),
      method: reading.method,
      note: reading.note ?? null,
    },
  }));
}
