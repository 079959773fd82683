import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { measured, missing, type Measured, type UncertaintyPart } from '../units/measured.ts';
import type { Assumptions } from './assumptions.ts';
import { atan, atan2, sin, tan } from '../geometry/same-math.ts';

/** A plane as height over plan, with the uncertainty of its three numbers. */
export interface PlaneEstimate {
  /** Plan position the height belongs to. [m] */
  readonly centroid: Vector2;
  /** Height at the centroid. [m] */
  readonly elevation: number;
  /** Rise per metre east and north. [-] */
  readonly slopeX: number;
  readonly slopeY: number;
  /** Of elevation [m²], slopeX and slopeY [-], 3 × 3 row by row. */
  readonly covariance: readonly number[];
}

/** Half width of the 95 % interval of a normal variable, in standard deviations. */
export const SIGMAS_95 = 1.959964;

/** Least fall that gives a plane a direction at all. [degree] */
const LEVEL_PITCH_DEG = 0.2;
/** A fall smaller than this many of its standard deviations has no direction worth a number. */
const LEVEL_SIGMAS = 3;

const DEGREES = 180 / Math.PI;

/** Variance of the plane's height at a plan position: x C xᵀ with x = (1, dx, dy). [m²] */
export function heightVariance({ centroid, covariance: c }: PlaneEstimate, [x, y]: Vector2): number {
  const dx = x - centroid[0];
  const dy = y - centroid[1];
  return Math.max(0, c[0]! + 2 * dx * c[1]! + 2 * dy * c[2]! + dx * dx * c[4]! + 2 * dx * dy * c[5]! + dy * dy * c[8]!);
}

/** Unit upward normal and offset of the plane, n · p + offset = 0. */
export function planeOf(estimate: PlaneEstimate): { normal: Vector3; offset: number } {
  const { slopeX, slopeY, elevation, centroid } = estimate;
  const size = Math.sqrt(1 + slopeX * slopeX + slopeY * slopeY);
  const normal: Vector3 = [-slopeX / size, -slopeY / size, 1 / size];
  return { normal, offset: -(normal[0] * centroid[0] + normal[1] * centroid[1] + normal[2] * elevation) };
}

/** Standard deviation of the slope along the fall and across it. [-] */
export function slopeSigmas({ slopeX, slopeY, covariance: c }: PlaneEstimate): { along: number; across: number } {
  const size = Math.hypot(slopeX, slopeY);
  const [ux, uy] = size > 0 ? [slopeX / size, slopeY / size] : [1, 0];
  const variance = (x: number, y: number): number => Math.max(0, x * x * c[4]! + 2 * x * y * c[5]! + y * y * c[8]!);
  return { along: Math.sqrt(variance(ux, uy)), across: Math.sqrt(variance(-uy, ux)) };
}

/**
 * Pitch with its 95 % interval.
 *
 * A nearly level plane has its slope's noise from both directions: below about two sigmas the measured fall is mostly
 * noise, so the interval must reach down to zero. Parts: fit, tilt (of the whole survey), scale (heights against lengths).
 */
export function pitchReading(estimate: PlaneEstimate, { tiltDeg, scale }: Assumptions): Measured {
  const fall = Math.hypot(estimate.slopeX, estimate.slopeY);
  const pitch = atan(fall);
  const sigmas = slopeSigmas(estimate);
  // Across the fall the noise only lengthens the fall vector: its second-order share, hypot(fall, across) - fall.
  const across = SIGMAS_95 * sigmas.across;
  const along = Math.hypot(SIGMAS_95 * sigmas.along, Math.hypot(fall, across) - fall);
  const parts: UncertaintyPart[] = [
    { name: 'fit', u95: (along * DEGREES) / (1 + fall * fall) },
    { name: 'tilt', u95: tiltDeg },
    // One scale in plan and another in height turn the pitch by half sin 2θ times their difference.
    { name: 'scale', u95: 0.5 * sin(2 * pitch) * scale * DEGREES },
  ];
  return measured(pitch * DEGREES, parts);
}

/** Bearing of steepest descent from true north; none on a plane whose fall is not surely there. */
export function azimuthReading(estimate: PlaneEstimate, gridToTrue: number, { tiltDeg, northDeg }: Assumptions): Measured {
  const { slopeX, slopeY } = estimate;
  const fall = Math.hypot(slopeX, slopeY);
  const { along, across } = slopeSigmas(estimate);
  const level = Math.max(tan(LEVEL_PITCH_DEG / DEGREES), LEVEL_SIGMAS * Math.max(along, across));
  if (fall < level) return missing('level plane');
  const turn = 2 * Math.PI;
  const bearing = (((atan2(-slopeX, -slopeY) + gridToTrue) % turn) + turn) % turn;
  return measured(bearing * DEGREES, [
    { name: 'fit', u95: (SIGMAS_95 * across * DEGREES) / fall },
    { name: 'tilt', u95: tiltDeg / fall },
    { name: 'north', u95: northDeg },
  ]);
}
