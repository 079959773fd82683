import { length, type Vector2, type Vector3 } from '../../src/geometry/vector.ts';
import type { Truth, TruthObstruction, TruthParapet, TruthPlane } from '../../src/survey/score/truth.ts';
import { determinant, movedNormal, type Matrix3 } from './matrix.ts';
import { movedPoint, surveyMatrix, type SurveyError } from './survey-error.ts';

const DEGREES = 180 / Math.PI;

/** Where a survey is right: on the ground in the middle of the roofs. */
export function surveyCentre({ planes, curved, groundElevationM }: Truth): Vector3 {
  const corners: readonly (readonly number[])[] = [...planes.flatMap(({ ring }) => ring), ...curved.flatMap(({ ring }) => ring)];
  const middle = (axis: number): number => {
    const values = corners.map((corner) => corner[axis]!);
    return (Math.min(...values) + Math.max(...values)) / 2;
  };
  return [middle(0), middle(1), groundElevationM];
}

/**
 * The truth as a survey with such an error would show it without any noise. What a cloud tells of itself is judged against this,
 * which is as hard as judging an unmoved cloud against the unmoved truth.
 */
export function movedTruth(truth: Truth, error: SurveyError): Truth {
  const m = surveyMatrix(error);
  const centre = surveyCentre(truth);
  const p3 = (p: Vector3): Vector3 => movedPoint(m, centre, p);
  const p2 = ([x, y]: Vector2, z: number): Vector2 => {
    const [mx, my] = p3([x, y, z]);
    return [mx, my];
  };
  // A tilted survey still has heights above the roof: those of a parapet stretch, and its path stays where it is in height.
  const above = (z: number): number => centre[2] + m[2][2] * (z - centre[2]);
  return {
    ...truth,
    buildings: truth.buildings.map((b) => ({ ...b, groundElevationM: groundBelow(truth, b.id, b.groundElevationM, p3) })),
    planes: truth.planes.map((plane) => movedPlane(plane, m, p3)),
    edges: truth.edges.map((edge) => ({ ...edge, from: p3(edge.from), to: p3(edge.to) })),
    obstructions: truth.obstructions.map((thing) => movedThing(thing, truth.planes.find(({ id }) => id === thing.plane), m, p2)),
    parapets: truth.parapets.map((parapet) => movedParapet(parapet, error, m, p3, above)),
    drains: truth.drains.map((drain) => ({ ...drain, at: p3(drain.at) })),
    curved: truth.curved.map((one) => ({ ...one, ring: one.ring.map((p) => p2(p, truth.groundElevationM)) })),
  };
}

function movedPlane(plane: TruthPlane, m: Matrix3, p3: (p: Vector3) => Vector3): TruthPlane {
  const scaled = movedNormal(m, plane.normal);
  const size = length(scaled);
  const normal: Vector3 = [scaled[0] / size, scaled[1] / size, scaled[2] / size];
  return {
    ...plane, normal, ring: plane.ring.map(p3), holes: plane.holes.map((hole) => hole.map(p3)),
    pitchDeg: Math.atan2(Math.hypot(normal[0], normal[1]), normal[2]) * DEGREES,
    // A level plane has no bearing, and tilting makes it none that a survey should be asked for.
    azimuthGridDeg: plane.azimuthGridDeg === null ? null : ((Math.atan2(normal[0], normal[1]) * DEGREES) + 360) % 360,
    slopeAreaM2: plane.slopeAreaM2 * size, planAreaM2: plane.planAreaM2 * (scaled[2] / plane.normal[2]),
  };
}

/** Upright above its plane: the foot goes with the plane, and the height with what the map makes of an upright step over it. */
function movedThing(thing: TruthObstruction, plane: TruthPlane | undefined, m: Matrix3, p2: (p: Vector2, z: number) => Vector2): TruthObstruction {
  if (!plane) throw new RangeError(`Expected the plane ${thing.plane} of ${thing.id} in the truth.`);
  const [nx, ny, nz] = plane.normal;
  const [x0, y0, z0] = plane.ring[0]!;
  const footprint = thing.footprint.map((p) => p2(p, z0 - (nx * (p[0] - x0) + ny * (p[1] - y0)) / nz));
  const scaled = movedNormal(m, plane.normal);
  // The determinant over the plan area's factor: volume above the plane by the area it stands over.
  const rise = (determinant(m) * nz) / scaled[2];
  const scale = Math.sqrt(m[0][0] * m[1][1] - m[0][1] * m[1][0]);
  return { ...thing, footprint, widthM: thing.widthM * scale, heightAboveRoofM: thing.heightAboveRoofM * rise };
}

function movedParapet(parapet: TruthParapet, { scalePlan }: SurveyError, m: Matrix3, p3: (p: Vector3) => Vector3, above: (z: number) => number): TruthParapet {
  return {
    ...parapet,
    path: parapet.path.map((p): Vector3 => {
      const [x, y] = p3(p);
      return [x, y, above(p[2])];
    }),
    topElevationM: parapet.topElevationM === null ? null : above(parapet.topElevationM),
    heightAboveRoofM: parapet.heightAboveRoofM * m[2][2], thicknessM: parapet.thicknessM * (1 + scalePlan),
  };
}

/** Level ground tilts with the survey: its height in the middle of the building. */
function groundBelow({ planes }: Truth, building: string, elevation: number, p3: (p: Vector3) => Vector3): number {
  const corners = planes.filter((plane) => plane.building === building).flatMap(({ ring }) => ring);
  if (corners.length === 0) return elevation;
  const mean = (axis: 0 | 1): number => corners.reduce((sum, corner) => sum + corner[axis], 0) / corners.length;
  return p3([mean(0), mean(1), elevation])[2];
}
