import type { Vector2 } from '../../../geometry/vector.ts';
import type { EdgeKind } from '../../../roof/record.ts';
import { slopeSigmas } from '../../../reading/plane-uncertainty.ts';
import { POOR_STEEPNESS, type FaceFit } from '../faces/fit-faces.ts';

/** What stands beyond a free edge. */
export type Beyond = 'nothing' | 'strip' | 'wall';

export interface KindAndReason {
  readonly kind: EdgeKind;
  readonly note?: string;
}

/** A line of a pitched roof is level when it climbs less than this share of the fall: the sine of 12° off the level. */
const LEVEL_SHARE = 0.21;
/** Falls under this are level whatever their noise. [-] 0.2°. */
const LEVEL_FALL = 0.0035;
const SIGMAS = 3;
/** A bend over a line smaller than this many of its sigmas may be none. */
const BEND_SIGMAS = 2;

export const POORLY_DETERMINED = 'poorly determined: the planes meet at less than 3 degrees';
export const DRAWN_BORDER = 'drawn by hand between parts of what the points show as one plane';
export const NO_BEND = 'the planes are one as far as their points tell; the border follows the points';
export const HIGH_EDGE = 'high edge of a single slope';

const fallOf = (fit: FaceFit): number => Math.hypot(fit.slopeX, fit.slopeY);

/** Slope along a direction and square to it on its left, with the slack within which it counts as level. */
function slopes(fit: FaceFit, [dx, dy]: Vector2): { along: number; left: number; slack: number } {
  return {
    along: fit.slopeX * dx + fit.slopeY * dy,
    left: -fit.slopeX * dy + fit.slopeY * dx,
    slack: Math.max(SIGMAS * worstSigma(fit), LEVEL_SHARE * fallOf(fit), LEVEL_FALL / 4),
  };
}

/** One sigma of the slope in the direction in which it is known worst. [-] */
function worstSigma(fit: FaceFit): number {
  const { along, across } = slopeSigmas(fit);
  return Math.max(along, across);
}

/**
 * Kind of a line where two planes meet: level with both falling away is a ridge, with both rising a valley; a sloping one
 * is a hip when the roof bends down over it, else a valley. A level line with one plane rising and one falling (the bend
 * of a mansard) is none of them, nor is a line over which no bend is seen.
 *
 * @param direction  Unit, in plan; `left` is the plane on its left.
 */
export function sharedKind(left: FaceFit, right: FaceFit, direction: Vector2): KindAndReason {
  const a = slopes(left, direction);
  const b = slopes(right, direction);
  // Rise of each plane when one leaves the line.
  const [riseLeft, riseRight] = [a.left, -b.left];
  const bendSigma = Math.hypot(worstSigma(left), worstSigma(right));
  if (Math.abs(riseLeft + riseRight) <= BEND_SIGMAS * bendSigma) return { kind: 'unknown', note: NO_BEND };
  const note = Math.abs(riseLeft + riseRight) < POOR_STEEPNESS ? { note: POORLY_DETERMINED } : {};
  const along = (a.along + b.along) / 2;
  const convex = riseLeft + riseRight < 0;
  if (Math.abs(along) <= Math.min(a.slack, b.slack)) {
    if (riseLeft < 0 && riseRight < 0) return { kind: 'ridge', ...note };
    if (riseLeft > 0 && riseRight > 0) return { kind: 'valley', ...note };
    return { kind: 'unknown', note: note.note ?? (convex ? 'level bend: one plane rises, one falls' : 'level bend: one plane falls to it, one away') };
  }
  return { kind: convex ? 'hip' : 'valley', ...note };
}

/**
 * Kind of a free edge. Its own plane lies on the left of the direction.
 *
 * @param beyond  A raised strip makes it a parapet, a wall an abutment.
 */
export function freeKind(fit: FaceFit, direction: Vector2, beyond: Beyond): KindAndReason {
  if (beyond === 'strip') return { kind: 'parapet' };
  if (beyond === 'wall') return { kind: 'abutment' };
  const { along, left, slack } = slopes(fit, direction);
  if (fallOf(fit) < Math.max(LEVEL_FALL, SIGMAS * worstSigma(fit))) return { kind: 'eave' };
  if (Math.abs(along) > slack) return { kind: 'rake' };
  return left > 0 ? { kind: 'eave' } : { kind: 'unknown', note: HIGH_EDGE };
}
