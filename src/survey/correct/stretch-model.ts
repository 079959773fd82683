import { add, dot, length, scale, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import { surfaceArea } from '../../geometry/polygon.ts';
import type { Plane } from '../../geometry/plane.ts';
import type { Building, Parapet, PlaneEvidence, ReadingKind, RecordReading, RoofEdge, RoofPlane, RoofRecord } from '../../roof/record.ts';
import { isKnown, measured, type Measured, type MeasuredValue } from '../../units/measured.ts';
import { angleAtSecond, pitchOfThree } from '../measure/numbers.ts';
import { atan, sin, tan } from '../../geometry/same-math.ts';
import { withRoofAreaOf, type AreaName } from './corrected-area.ts';

/** A stretch of the whole model about a fixed point; lengths in plan and heights may stretch differently. */
export interface Stretch {
  readonly about: Vector3;
  readonly horizontal: number;
  readonly vertical: number;
  /** 95 % half width of the stretch, as a share; of heights alone where `isVertical`. */
  readonly u95: number;
  readonly isVertical: boolean;
}

/** What a person typed was not measured on the model and does not stretch with it. */
const TYPED = 'as typed';
const SCALE_PART = 'scale';
const DEGREES = 180 / Math.PI;

/** The whole record stretched: places moved, every number derived again, its scale part replaced by the doubt of the stretch. */
export function stretchModel(record: RoofRecord, stretch: Stretch): RoofRecord {
  const { sampling } = record;
  const { horizontal: h, vertical: v } = stretch;
  return {
    ...record,
    sampling: {
      pointSpacingM: sampling.pointSpacingM * h,
      groundSampleDistanceM: sampling.groundSampleDistanceM === null ? null : sampling.groundSampleDistanceM * h,
      noiseM: sampling.noiseM * v,
      correlationLengthM: sampling.correlationLengthM * h,
    },
    buildings: record.buildings.map((building) => stretchBuilding(building, stretch)),
    readings: record.readings.map((reading) => stretchReading(reading, stretch)),
    smallFeatures: record.smallFeatures.map((feature) => ({
      ...feature,
      at: feature.at.map((at) => placeOf(at, stretch)),
      widthM: restated(feature.widthM, h, inPlan(stretch, 1)),
      heightM: restated(feature.heightM, v, stretch.u95),
    })),
  };
}

/** Where a place of the local frame comes to lie. */
export const placeOf = ([x, y, z]: Vector3, { about, horizontal, vertical }: Stretch): Vector3 => [
  about[0] + (x - about[0]) * horizontal,
  about[1] + (y - about[1]) * horizontal,
  about[2] + (z - about[2]) * vertical,
];

const planPlaceOf = ([x, y]: Vector2, { about, horizontal }: Stretch): Vector2 => [about[0] + (x - about[0]) * horizontal, about[1] + (y - about[1]) * horizontal];

/** Relative doubt of a number in plan that goes with a power of the scale; null where the stretch leaves it alone. */
const inPlan = ({ isVertical, u95 }: Stretch, power: number): number | null => (isVertical ? null : power * u95);

/**
 * A number times a factor, with its other parts; the scale part becomes `relativeU95` of the number.
 *
 * @param relativeU95  Null leaves the scale part as it was.
 */
function restated(number: Measured, factor: number, relativeU95: number | null): Measured {
  if (!isKnown(number) || number.parts?.some(({ name }) => name === TYPED)) return number;
  const value = number.value * factor;
  const parts = (number.parts ?? [{ name: 'as found', u95: number.u95 }]).map(({ name, u95 }) =>
    name === SCALE_PART && relativeU95 !== null ? { name, u95: Math.abs(value) * relativeU95 } : { name, u95: u95 * factor });
  return measured(value, parts);
}

/** A building stretched, as part of the whole model. */
export function stretchBuilding(building: Building, stretch: Stretch): Building {
  const { horizontal: h, vertical: v, u95 } = stretch;
  const ground = building.groundElevationM;
  const roofPlanes = building.roofPlanes.map((plane) => stretchPlane(plane, stretch));
  return {
    ...withRoofAreaOf(building, roofPlanes, (total, grown, area) => stretchRoofArea(total, grown, area, roofPlanes, stretch)),
    groundElevationM: isKnown(ground) ? { ...ground, value: placeOf([0, 0, ground.value], stretch)[2] } : ground,
    outline: building.outline.map((corner) => planPlaceOf(corner, stretch)),
    roofPlanes,
    edges: building.edges.map((edge) => stretchEdge(edge, stretch)),
    parapets: building.parapets.map((parapet) => stretchParapet(parapet, stretch)),
    obstructions: building.obstructions.map((thing) => ({
      ...thing,
      footprint: thing.footprint.map((corner) => planPlaceOf(corner, stretch)),
      planAreaM2: restated(thing.planAreaM2, h * h, inPlan(stretch, 2)),
      heightAboveRoofM: restated(thing.heightAboveRoofM, v, u95),
    })),
    lowPoints: building.lowPoints.map((low) => ({
      ...low,
      at: placeOf(low.at, stretch),
      depthM: restated(low.depthM, v, u95),
      drainedPlanAreaM2: restated(low.drainedPlanAreaM2, h * h, inPlan(stretch, 2)),
      ...(low.lowLine ? { lowLine: [placeOf(low.lowLine[0], stretch), placeOf(low.lowLine[1], stretch)] as const } : {}),
      ...(low.pond ? { pond: { outline: low.pond.outline.map((corner) => placeOf(corner, stretch)), planAreaM2: restated(low.pond.planAreaM2, h * h, inPlan(stretch, 2)) } } : {}),
    })),
  };
}

/** All planes together; how a doubt of heights alone changes it is the sum of what it changes of each. */
function stretchRoofArea(total: MeasuredValue, grown: number, area: AreaName, planes: readonly RoofPlane[], { u95, isVertical }: Stretch): Measured {
  const factor = total.value > 0 ? (total.value + grown) / total.value : 1;
  if (!isVertical) return restated(total, factor, 2 * u95);
  if (area === 'planAreaM2') return restated(total, factor, null);
  const answering = planes.reduce((sum, { normal, slopeAreaM2 }) => sum + sineSquared(normal) * (slopeAreaM2.value ?? 0), 0);
  return restated(total, factor, (u95 * answering) / (total.value + grown));
}

/** Share by which a surface grows for each share by which heights do. [-] */
const sineSquared = (normal: Vector3): number => 1 - normal[2] * normal[2];

export function stretchParapet<T extends Omit<Parapet, 'id'>>(parapet: T, stretch: Stretch): T {
  return {
    ...parapet,
    path: parapet.path.map((at) => placeOf(at, stretch)),
    heightAboveRoofM: restated(parapet.heightAboveRoofM, stretch.vertical, stretch.u95),
    thicknessM: restated(parapet.thicknessM, stretch.horizontal, inPlan(stretch, 1)),
  };
}

/** A plane after a stretch, and what a distance square to it is multiplied by. */
export function stretchedPlane({ normal: before, offset }: Plane, stretch: Stretch): Plane & { readonly across: number } {
  const { horizontal: h, vertical: v } = stretch;
  const askew: Vector3 = [before[0] / h, before[1] / h, before[2] / v];
  const size = length(askew);
  const normal = scale(askew, 1 / size);
  return { normal, offset: -dot(normal, placeOf(scale(before, -offset), stretch)), across: 1 / size };
}

function stretchPlane(plane: RoofPlane, stretch: Stretch): RoofPlane {
  const { horizontal: h } = stretch;
  const { normal, offset, across } = stretchedPlane(plane, stretch);
  const stretchedSlope = (h * h * plane.normal[2]) / normal[2];
  return {
    ...plane,
    normal,
    offset,
    pitchDeg: stretchPitch(plane.pitchDeg, stretch),
    slopeAreaM2: restated(plane.slopeAreaM2, stretchedSlope, stretch.isVertical ? sineSquared(normal) * stretch.u95 : 2 * stretch.u95),
    planAreaM2: restated(plane.planAreaM2, h * h, inPlan(stretch, 2)),
    outline: plane.outline.map((corner) => placeOf(corner, stretch)),
    holes: plane.holes.map((hole) => hole.map((corner) => placeOf(corner, stretch))),
    residualRmsM: plane.residualRmsM * across,
    ...(plane.evidence ? { evidence: stretchEvidence(plane.evidence, stretch, across) } : {}),
    ...(plane.regular ? { regular: {
      outline: plane.regular.outline.map((corner) => placeOf(corner, stretch)),
      holes: plane.regular.holes.map((hole) => hole.map((corner) => placeOf(corner, stretch))),
      slopeAreaM2: plane.regular.slopeAreaM2 * stretchedSlope,
      greatestShiftM: plane.regular.greatestShiftM * h,
    } } : {}),
  };
}

/** tan of the pitch goes with heights over lengths in plan; its doubt d pitch = sin pitch cos pitch u. */
function stretchPitch(pitch: Measured, { horizontal, vertical, u95, isVertical }: Stretch): Measured {
  if (!isKnown(pitch) || !isVertical) return pitch;
  const before = tan(pitch.value / DEGREES);
  const after = (before * vertical) / horizontal;
  const factor = ((vertical / horizontal) * (1 + before * before)) / (1 + after * after);
  const angle = atan(after);
  const parts = (pitch.parts ?? [{ name: 'as found', u95: pitch.u95 }]).map((part) => ({ name: part.name, u95: part.name === SCALE_PART ? 0.5 * sin(2 * angle) * u95 * DEGREES : part.u95 * factor }));
  return measured(angle * DEGREES, parts);
}

function stretchEvidence(evidence: PlaneEvidence, stretch: Stretch, across: number): PlaneEvidence {
  const { horizontal: h, vertical: v } = stretch;
  const units = [v, v / h, v / h];
  const { residualHistogram } = evidence;
  return {
    ...evidence,
    noiseM: evidence.noiseM * across,
    correlationLengthM: evidence.correlationLengthM * h,
    covariance: evidence.covariance.map((entry, at) => entry * units[Math.floor(at / 3)]! * units[at % 3]!),
    centroid: placeOf(evidence.centroid, stretch),
    ...(residualHistogram ? { residualHistogram: { ...residualHistogram, binM: residualHistogram.binM * across } } : {}),
  };
}

function stretchEdge(edge: RoofEdge, stretch: Stretch): RoofEdge {
  const [from, to] = [placeOf(edge.from, stretch), placeOf(edge.to, stretch)];
  const [before, after] = [subtract(edge.to, edge.from), subtract(to, from)];
  const size = length(after);
  const rise = size > 0 ? (after[2] / size) ** 2 : 0;
  return {
    ...edge,
    from,
    to,
    slopeLengthM: restated(edge.slopeLengthM, size > 0 ? size / length(before) : 1, stretch.isVertical ? rise * stretch.u95 : stretch.u95),
    ...(edge.regular ? { regular: { ...edge.regular, from: placeOf(edge.regular.from, stretch), to: placeOf(edge.regular.to, stretch), shiftM: edge.regular.shiftM * stretch.horizontal } } : {}),
    ...(edge.positionM ? { positionM: restated(edge.positionM, stretch.horizontal, null) } : {}),
  };
}

/** What a person measured, at its stretched picks. */
function stretchReading(reading: RecordReading, stretch: Stretch): RecordReading {
  const { horizontal: h, vertical: v } = stretch;
  const picks = reading.picks.map((pick) => ({ ...pick, at: placeOf(pick.at, stretch), sigmaM: [pick.sigmaM[0] * h, pick.sigmaM[1] * h, pick.sigmaM[2] * v] as Vector3 }));
  const stretched: RecordReading = { ...reading, picks };
  if (reading.kind === 'pitch') return { ...stretched, valueDeg: reading.picks.length === 3 ? withModelPartsOf(stretchPitch(reading.valueDeg!, stretch), pitchOfThree(picks)) : stretchPitch(reading.valueDeg!, stretch) };
  if (reading.kind === 'angle') return { ...stretched, valueDeg: reading.picks.length === 3 ? angleAtSecond(picks) : reading.valueDeg! };
  const factor = factorOf(reading, picks.map(({ at }) => at), stretch);
  const doubt = stretch.isVertical && !HEIGHTS.has(reading.kind) ? null : stretch.u95;
  if (reading.valueM) return { ...stretched, valueM: restated(reading.valueM, factor, doubt) };
  return reading.valueM2 ? { ...stretched, valueM2: restated(reading.valueM2, factor, doubt && 2 * doubt) } : stretched;
}

/** Readings that go with the scale of heights alone. */
const HEIGHTS: ReadonlySet<ReadingKind> = new Set(['height-difference', 'height-above-roof', 'height-above-ground']);
/** What a number shares with the whole model. */
const MODEL_PARTS: ReadonlySet<string> = new Set([SCALE_PART, 'tilt', 'north']);

/** A number made of picks anew, with what it shared with the model before. */
function withModelPartsOf(before: Measured, anew: Measured): Measured {
  if (!isKnown(before) || !isKnown(anew)) return anew;
  return measured(anew.value, [...(anew.parts ?? []), ...(before.parts ?? []).filter(({ name }) => MODEL_PARTS.has(name))]);
}

function factorOf({ kind, picks }: RecordReading, moved: readonly Vector3[], { horizontal: h, vertical: v }: Stretch): number {
  const before = picks.map(({ at }) => at);
  if (kind === 'distance' && before.length === 2) return length(subtract(moved[1]!, moved[0]!)) / (length(subtract(before[1]!, before[0]!)) || 1);
  if (kind === 'slope-area' && before.length > 2) return surfaceArea(moved) / (surfaceArea(before) || 1);
  if (kind === 'plan-area' || kind === 'slope-area') return h * h;
  return kind === 'height-difference' || kind === 'height-above-roof' || kind === 'height-above-ground' ? v : h;
}

/** Middle of the box about all roof planes: what a stretch leaves where it is. */
export function middleOf(record: RoofRecord): Vector3 {
  const corners = record.buildings.flatMap((building) => building.roofPlanes.flatMap((plane) => [...plane.outline]));
  if (corners.length === 0) return [0, 0, 0];
  const least = [0, 1, 2].map((axis) => corners.reduce((low, corner) => Math.min(low, corner[axis]!), Infinity)) as unknown as Vector3;
  const most = [0, 1, 2].map((axis) => corners.reduce((high, corner) => Math.max(high, corner[axis]!), -Infinity)) as unknown as Vector3;
  return scale(add(least, most), 0.5);
}
