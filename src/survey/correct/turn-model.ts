import { rotated, rotationBy } from '../../geometry/rotation.ts';
import { planeElevationAt, type Plane } from '../../geometry/plane.ts';
import { add, dot, scale, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import { DEFAULT_ASSUMPTIONS, type Assumptions } from '../../reading/assumptions.ts';
import { assumptionsOf } from '../measure/model-parts.ts';
import { azimuthReading, type PlaneEstimate } from '../../reading/plane-uncertainty.ts';
import { ringContains } from '../../geometry/polygon.ts';
import type { Building, LowPoint, Parapet, PlaneEvidence, ReadingKind, RoofPlane, RoofRecord } from '../../roof/record.ts';
import { isKnown, measured, missing, type Measured, type MeasuredValue } from '../../units/measured.ts';
import { atan, atan2 } from '../../geometry/same-math.ts';
import { withNumber, type NumberContext } from '../measure/make-readings.ts';
import { snapTargets } from '../measure/snap-targets.ts';
import { STALE } from './follow-building.ts';
import { refusedIds } from '../../roof/refused-ids.ts';
import { withRoofAreaOf, type AreaName } from './corrected-area.ts';

/** A small turn of the whole model about a fixed point: levelled, or turned to its bearings. */
export interface Turn {
  readonly about: Vector3;
  /** Rotation vector, right-handed. [rad] */
  readonly turn: Vector3;
  /** 95 % half widths of how level the model is to the north and to the east, or twice that of its bearings. [deg] */
  readonly u95Deg: readonly [north: number, east: number];
  readonly isTilt: boolean;
  /** Angle to add to a grid bearing to get a true one. [rad] */
  readonly gridToTrue: number;
}

const DEGREES = 180 / Math.PI;
const PICKS_NEEDED: Readonly<Record<ReadingKind, number>> = {
  distance: 2, 'level-distance': 2, 'height-difference': 2, 'height-above-roof': 2, 'height-above-ground': 1, 'slope-area': 3, 'plan-area': 3, pitch: 3, angle: 2, bearing: 2, radius: 3, width: 3,
};
const TOO_FEW = `${STALE}the model was turned, and its marks are too few to take it again`;
const MEASURE_AGAIN = 'the model was levelled after this was found; survey it again';

/** The whole record turned: places moved, every number derived again, its tilt or north part replaced by the doubt of the turn. */
export function turnModel(record: RoofRecord, turn: Turn): RoofRecord {
  const turned: RoofRecord = {
    ...record,
    buildings: record.buildings.map((building) => turnBuilding(building, turn)),
    smallFeatures: record.smallFeatures.map((feature) => ({ ...feature, at: feature.at.map((at) => turnedPlace(at, turn)) })),
  };
  const { noiseM } = record.sampling;
  const context: NumberContext = { targets: snapTargets(turned, refusedIds(turned)), buildings: turned.buildings, noiseM, gridToTrueDeg: record.frame.gridToTrueDeg, assumptions: turnedAssumptions(assumptionsOf(record), turn) };
  return {
    ...turned,
    readings: record.readings.map((reading) => {
      const moved = { ...reading, picks: reading.picks.map((pick) => ({ ...pick, at: turnedPlace(pick.at, turn) })) };
      return reading.picks.length < PICKS_NEEDED[reading.kind] ? { ...moved, note: TOO_FEW } : withNumber(moved, context);
    }),
  };
}

/** Control after it: the doubt of the turn stands for what was assumed of level, or of north. */
const turnedAssumptions = (assumptions: Assumptions, { isTilt, u95Deg }: Turn): Assumptions => (isTilt ? { ...assumptions, tiltDeg: Math.max(...u95Deg) } : { ...assumptions, northDeg: u95Deg[0] });

/** Where a place of the local frame comes to lie. */
export const turnedPlace = (at: Vector3, { about, turn }: Turn): Vector3 => add(about, rotated(rotationBy(turn), subtract(at, about)));

export function turnedPlane({ normal: before, offset }: Plane, turn: Turn): Plane {
  const normal = rotated(rotationBy(turn.turn), before);
  return { normal, offset: -dot(normal, turnedPlace(scale(before, -offset), turn)) };
}

/** A building turned, as part of the whole model. */
export function turnBuilding(building: Building, turn: Turn): Building {
  const place = (at: Vector3): Vector3 => turnedPlace(at, turn);
  const plan = (at: Vector2, z: number): Vector2 => {
    const [x, y] = place([at[0], at[1], z]);
    return [x, y];
  };
  const ground = building.groundElevationM;
  const roofPlanes = building.roofPlanes.map((plane) => turnPlane(plane, turn));
  return {
    ...withRoofAreaOf(building, roofPlanes, (total, grown, area) => turnRoofArea(total, grown, area, roofPlanes, turn)),
    groundElevationM: isKnown(ground) ? { ...ground, value: place([...middleOf(building.outline), ground.value])[2] } : ground,
    outline: building.outline.map((corner) => plan(corner, heightAbove(building, corner) ?? turn.about[2])),
    roofPlanes,
    edges: building.edges.map((edge) => ({
      ...edge, from: place(edge.from), to: place(edge.to),
      ...(edge.regular ? { regular: { ...edge.regular, from: place(edge.regular.from), to: place(edge.regular.to) } } : {}),
    })),
    parapets: building.parapets.map((parapet) => turnParapet(parapet, turn)),
    obstructions: building.obstructions.map((thing) => {
      const before = building.roofPlanes.find(({ id }) => id === thing.onPlane);
      const after = roofPlanes.find(({ id }) => id === thing.onPlane);
      const lift = (at: Vector2): number => (before && before.normal[2] > 1e-9 ? planeElevationAt(before, at) : turn.about[2]);
      return {
        ...thing,
        footprint: thing.footprint.map((corner) => plan(corner, lift(corner))),
        planAreaM2: before && after && before.normal[2] > 1e-9 ? timesFactor(thing.planAreaM2, after.normal[2] / before.normal[2]) : thing.planAreaM2,
      };
    }),
    lowPoints: building.lowPoints.map((low) => turnLowPoint(low, turn)),
  };
}

export const turnParapet = <T extends Omit<Parapet, 'id'>>(parapet: T, turn: Turn): T => ({ ...parapet, path: parapet.path.map((at) => turnedPlace(at, turn)) });

/** Where water stands depends on what is level: a model that was levelled says no longer how deep, nor surely where. */
function turnLowPoint(low: LowPoint, turn: Turn): LowPoint {
  const at = turnedPlace(low.at, turn);
  if (!turn.isTilt) {
    return {
      ...low, at,
      ...(low.lowLine ? { lowLine: [turnedPlace(low.lowLine[0], turn), turnedPlace(low.lowLine[1], turn)] as const } : {}),
      ...(low.pond ? { pond: { ...low.pond, outline: low.pond.outline.map((corner) => turnedPlace(corner, turn)) } } : {}),
    };
  }
  const { pond: _pond, lowLine: _line, ...rest } = low;
  if (low.verdict === 'cannot-tell') return { ...rest, at };
  return { ...rest, at, verdict: 'candidate', depthM: missing(MEASURE_AGAIN), drainedPlanAreaM2: missing(MEASURE_AGAIN), positionM: missing(MEASURE_AGAIN), note: MEASURE_AGAIN };
}

function turnPlane(plane: RoofPlane, turn: Turn): RoofPlane {
  const { normal, offset } = turnedPlane(plane, turn);
  const place = (at: Vector3): Vector3 => turnedPlace(at, turn);
  const evidence = plane.evidence && turnEvidence(plane.evidence, turn);
  const fall = Math.hypot(normal[0], normal[1]) / normal[2];
  const planArea = plane.normal[2] > 1e-9 ? timesFactor(plane.planAreaM2, normal[2] / plane.normal[2]) : plane.planAreaM2;
  const [along] = tiltAt(normal, turn);
  return {
    ...plane,
    normal,
    offset,
    pitchDeg: withValue(plane.pitchDeg, atan(fall) * DEGREES, turn.isTilt ? { name: 'tilt', u95: along } : null),
    azimuthDeg: turnAzimuth(plane, normal, evidence ?? null, turn),
    // A surface that is levelled is as large as before; what it covers in plan is not.
    planAreaM2: withValue(planArea, planArea.value ?? 0, turn.isTilt && fall > 0 ? { name: 'tilt', u95: ((planArea.value ?? 0) * fall * along) / DEGREES } : null),
    outline: plane.outline.map(place),
    holes: plane.holes.map((hole) => hole.map(place)),
    ...(evidence ? { evidence } : {}),
    ...(plane.regular ? { regular: { ...plane.regular, outline: plane.regular.outline.map(place), holes: plane.regular.holes.map((hole) => hole.map(place)) } } : {}),
  };
}

/** All planes together are as large as before; what they cover in plan changes where they fall more one way than the other. */
function turnRoofArea(total: MeasuredValue, grown: number, area: AreaName, planes: readonly RoofPlane[], { isTilt, u95Deg: [u, v] }: Turn): Measured {
  if (area === 'slopeAreaM2') return { ...total, value: total.value + grown };
  const inPlan = timesFactor(total, total.value > 0 ? (total.value + grown) / total.value : 1);
  let [east, north] = [0, 0];
  for (const { normal, planAreaM2 } of planes) {
    east += (normal[0] / normal[2]) * (planAreaM2.value ?? 0);
    north += (normal[1] / normal[2]) * (planAreaM2.value ?? 0);
  }
  return withValue(inPlan, total.value + grown, isTilt ? { name: 'tilt', u95: Math.hypot(u * north, v * east) / DEGREES } : null);
}

/** Slopes along x and y turn with bearings; a tilt leaves their scatter as it is. */
function turnEvidence(evidence: PlaneEvidence, turn: Turn): PlaneEvidence {
  const [[a, b], [c, d]] = rotationBy([0, 0, turn.turn[2]]);
  const rows = [[1, 0, 0], [0, a, b], [0, c, d]];
  const { covariance } = evidence;
  const turned = rows.flatMap((row) => rows.map((column) => row.reduce((sum, p, i) => sum + column.reduce((part, q, j) => part + p * q * (covariance[3 * i + j] ?? 0), 0), 0)));
  return { ...evidence, centroid: turnedPlace(evidence.centroid, turn), covariance: covariance.length === 9 ? turned : covariance };
}

/** Half widths of the tilt along the fall of a plane, which its pitch has, and across it, which turns its azimuth. [deg] */
function tiltAt([east, north]: Vector3, { u95Deg: [u, v] }: Turn): [along: number, across: number] {
  const size = Math.hypot(east, north);
  const [x, y] = size > 0 ? [east / size, north / size] : [Math.SQRT1_2, Math.SQRT1_2];
  return [Math.hypot(u * y, v * x), Math.hypot(u * x, v * y)];
}

/** By the survey's own rule where the plane's evidence is there, else what stood turned with the plane. */
function turnAzimuth(plane: RoofPlane, normal: Vector3, evidence: PlaneEvidence | null, turn: Turn): Measured {
  const { isTilt, u95Deg, gridToTrue } = turn;
  const stood = plane.azimuthDeg;
  const northDeg = (isKnown(stood) ? stood.parts?.find(({ name }) => name === 'north')?.u95 : undefined) ?? DEFAULT_ASSUMPTIONS.northDeg;
  const tiltDeg = (isKnown(plane.pitchDeg) ? plane.pitchDeg.parts?.find(({ name }) => name === 'tilt')?.u95 : undefined) ?? DEFAULT_ASSUMPTIONS.tiltDeg;
  if (evidence && evidence.covariance.length === 9) {
    const [x, y, elevation] = evidence.centroid;
    const estimate: PlaneEstimate = { centroid: [x, y], elevation, slopeX: -normal[0] / normal[2], slopeY: -normal[1] / normal[2], covariance: evidence.covariance };
    return azimuthReading(estimate, gridToTrue, { ...DEFAULT_ASSUMPTIONS, tiltDeg: isTilt ? tiltAt(normal, turn)[1] : tiltDeg, northDeg: isTilt ? northDeg : u95Deg[0] });
  }
  if (!isKnown(stood)) return stood;
  const by = (atan2(normal[0], normal[1]) - atan2(plane.normal[0], plane.normal[1])) * DEGREES;
  return withValue(stood, (((stood.value + by) % 360) + 360) % 360, isTilt ? null : { name: 'north', u95: u95Deg[0] });
}

/** Another value with the parts it had, one of them replaced. */
function withValue(number: Measured, value: number, part: { readonly name: string; readonly u95: number } | null): Measured {
  if (!isKnown(number)) return number;
  if (!part) return { ...number, value };
  const parts = number.parts ?? [{ name: 'as found', u95: number.u95 }];
  return measured(value, parts.some(({ name }) => name === part.name) ? parts.map((each) => (each.name === part.name ? part : each)) : [...parts, part]);
}

const timesFactor = (number: Measured, factor: number): Measured =>
  isKnown(number) ? measured(number.value * factor, (number.parts ?? [{ name: 'as found', u95: number.u95 }]).map(({ name, u95 }) => ({ name, u95: u95 * factor }))) : number;

/** Elevation of a building's roof where a corner of its outline stands. */
function heightAbove({ roofPlanes }: Building, corner: Vector2): number | null {
  let [best, nearest] = [null as number | null, Infinity];
  for (const plane of roofPlanes) {
    for (const [x, y, z] of plane.outline) {
      const away = Math.hypot(x - corner[0], y - corner[1]);
      if (away < nearest) [best, nearest] = [z, away];
    }
  }
  if (nearest < 0.01) return best;
  const under = roofPlanes.find(({ normal, outline }) => normal[2] > 1e-9 && ringContains(outline, corner));
  return under ? planeElevationAt(under, corner) : best;
}

const middleOf = (outline: readonly Vector2[]): Vector2 => [outline.reduce((sum, [x]) => sum + x, 0) / Math.max(1, outline.length), outline.reduce((sum, [, y]) => sum + y, 0) / Math.max(1, outline.length)];
