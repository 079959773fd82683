import { makeRandom } from '../../sample-data/generator/random.ts';
import { multiply, type Matrix3 } from './matrix.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import { GROUND_COVER_U95 } from '../../src/find/buildings/ground-elevation.ts';
import type { Assumptions } from '../../src/reading/assumptions.ts';

/**
 * What the control of a survey left wrong, the errors that `reading/assumptions.ts` states and that no cloud shows; and what
 * hides the ground.
 */
export interface SurveyError {
  /** Relative error of lengths in plan, and of heights. [-] */
  readonly scalePlan: number;
  readonly scaleHeight: number;
  /** Turn about the axes that point east and north: the survey stands aslant. [rad] */
  readonly tiltEast: number;
  readonly tiltNorth: number;
  /** Turn of the whole survey, positive where bearings come out too large. [rad] */
  readonly north: number;
  /** How far the points of the ground lie above it: grass, gravel. [m] */
  readonly groundCover: number;
}

export const NO_ERROR: SurveyError = { scalePlan: 0, scaleHeight: 0, tiltEast: 0, tiltNorth: 0, north: 0, groundCover: 0 };

/** Half width of the 95 % interval of a normal variable, in standard deviations. */
const SIGMAS_95 = 1.959964;

/**
 * One survey's error, each part normal with the 95 % half width that is assumed of it.
 *
 * A length is assumed good to ± scale, and so is the difference between the scales of plan and height, which turns pitches
 * (methods E): both hold when the two scales correlate by one half.
 *
 * @param name  Of the case; the same name draws the same error.
 */
export function drawSurveyError(name: string, { scale, tiltDeg, northDeg }: Assumptions): SurveyError {
  const random = makeRandom(hashOf(`survey of ${name}`));
  const draw = (halfWidth: number): number => (random.normal() * halfWidth) / SIGMAS_95;
  const radians = Math.PI / 180;
  const scalePlan = draw(scale);
  return {
    scalePlan, scaleHeight: 0.5 * scalePlan + Math.sqrt(0.75) * draw(scale),
    tiltEast: draw(tiltDeg * radians), tiltNorth: draw(tiltDeg * radians), north: draw(northDeg * radians), groundCover: draw(GROUND_COVER_U95),
  };
}

/** FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo 1991), 32 bits. */
function hashOf(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash | 0;
}

/** Rows of the linear map that takes true differences of place to surveyed ones: stretched, then tilted, then turned. */
export function surveyMatrix({ scalePlan, scaleHeight, tiltEast, tiltNorth, north }: SurveyError): Matrix3 {
  const [ce, se, cn, sn] = [Math.cos(tiltEast), Math.sin(tiltEast), Math.cos(tiltNorth), Math.sin(tiltNorth)];
  // Bearings run clockwise: a positive turn takes north towards east.
  const [c, s] = [Math.cos(north), Math.sin(north)];
  const stretch: Matrix3 = [[1 + scalePlan, 0, 0], [0, 1 + scalePlan, 0], [0, 0, 1 + scaleHeight]];
  const aboutEast: Matrix3 = [[1, 0, 0], [0, ce, -se], [0, se, ce]];
  const aboutNorth: Matrix3 = [[cn, 0, sn], [0, 1, 0], [-sn, 0, cn]];
  const turn: Matrix3 = [[c, s, 0], [-s, c, 0], [0, 0, 1]];
  return multiply(turn, multiply(aboutNorth, multiply(aboutEast, stretch)));
}

/** Where a point is surveyed when the survey is right at `centre`. */
export function movedPoint(m: Matrix3, [x0, y0, z0]: Vector3, [x, y, z]: Vector3): Vector3 {
  const [dx, dy, dz] = [x - x0, y - y0, z - z0];
  return [
    x0 + m[0][0] * dx + m[0][1] * dy + m[0][2] * dz, y0 + m[1][0] * dx + m[1][1] * dy + m[1][2] * dz, z0 + m[2][0] * dx + m[2][1] * dy + m[2][2] * dz,
  ];
}

/** Moves points in place. @param positions  `n × 3`. [m] */
export function movePoints(positions: Float64Array, m: Matrix3, centre: Vector3): void {
  for (let i = 0; i < positions.length; i += 3) positions.set(movedPoint(m, centre, [positions[i]!, positions[i + 1]!, positions[i + 2]!]), i);
}

/** Points farther from the ground than this lie on something else. [m] */
const ON_GROUND = 0.15;

/** Lifts the points of level ground in place. @param levels  Of the ground, before any point was moved. [m] */
export function coverGround(positions: Float64Array, levels: readonly number[], cover: number): void {
  for (let i = 2; i < positions.length; i += 3) {
    if (levels.some((level) => Math.abs(positions[i]! - level) < ON_GROUND)) positions[i]! += cover;
  }
}
