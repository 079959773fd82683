import { planeElevationAt } from '../../geometry/plane.ts';
import { ringContains, signedPlanArea, surfaceArea } from '../../geometry/polygon.ts';
import { cross, dot, length, normalize, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import { distanceToRing } from '../../geometry/ring-distance.ts';
import type { Building, RecordPick } from '../../roof/record.ts';
import { isKnown, measured, missing, type Measured } from '../../units/measured.ts';
import { planeHeightSigma } from './pick-sigma.ts';
import type { PlaneTarget } from './snap-targets.ts';
import { SIGMAS_IN_95, directionOr, fromPicks } from './uncertainty.ts';
import { acos, atan2 } from '../../geometry/same-math.ts';

/** The three numbers two picks give at once. */
export interface TwoPickNumbers {
  /** Straight from pick to pick. */
  readonly slope: Measured;
  readonly level: Measured;
  /** Second pick minus first. */
  readonly height: Measured;
}

export function twoPickNumbers(from: RecordPick, to: RecordPick): TwoPickNumbers {
  const between = subtract(to.at, from.at);
  const picks = [from, to];
  const along = directionOr(between, [1, 0, 0]);
  const level = directionOr([between[0], between[1], 0], [1, 0, 0]);
  return {
    slope: fromPicks(length(between), picks, [scale(along, -1), along]),
    level: fromPicks(Math.hypot(between[0], between[1]), picks, [scale(level, -1), level]),
    height: fromPicks(between[2], picks, [[0, 0, -1], [0, 0, 1]]),
  };
}

/** Grid bearing from the first pick to the second, turned to true north. [deg] */
export function bearing(from: RecordPick, to: RecordPick, gridToTrueDeg: number): Measured {
  const [x, y] = subtract(to.at, from.at);
  const run = Math.hypot(x, y);
  if (run < 1e-6) return missing('one pick stands above the other');
  const degrees = ((((atan2(x, y) * 180) / Math.PI + gridToTrueDeg) % 360) + 360) % 360;
  const across: Vector3 = scale([y / run, -x / run, 0], 180 / Math.PI / run);
  return fromPicks(degrees, [from, to], [scale(across, -1), across]);
}

/** Height of a pick above (or below) a roof plane, plumb. */
export function heightAbovePlane(pick: RecordPick, plane: PlaneTarget, noiseM: number): Measured {
  const [a, b, c] = plane.normal;
  if (c < 0.02) return missing(`${plane.name} stands upright`);
  const below = planeElevationAt(plane, [pick.at[0], pick.at[1]]);
  const planeU95 = SIGMAS_IN_95 * planeHeightSigma(plane, pick.at, { spacingM: 0, noiseM });
  // A shift sideways changes the height of the plane below by its slope.
  return fromPicks(pick.at[2] - below, [pick], [[a / c, b / c, 1]], [{ name: `height of plane ${plane.name}`, u95: planeU95 }]);
}

/** A pick farther from every building than this stands above nobody's ground. [m] */
const BESIDE_BUILDING_M = 10;

/** Height of a pick above the ground about its building: the one under it, else the nearest. */
export function heightAboveGround(pick: RecordPick, buildings: readonly Building[]): Measured {
  const at = [pick.at[0], pick.at[1]] as const;
  const away = (building: Building): number => (building.outline.length < 3 ? Infinity : ringContains(building.outline, at) ? 0 : distanceToRing(building.outline, at));
  const nearest = buildings.reduce<{ building: Building; m: number } | null>((best, building) => {
    const m = away(building);
    return best && best.m <= m ? best : { building, m };
  }, null);
  if (!nearest || nearest.m > BESIDE_BUILDING_M) return missing('no building stands here');
  const ground = nearest.building.groundElevationM;
  if (!isKnown(ground)) return missing(ground.why);
  return fromPicks(pick.at[2] - ground.value, [pick], [[0, 0, 1]], [{ name: 'ground', u95: ground.u95 }]);
}

/** Level distance of the third pick from the line of the first two. */
export function widthAcross(picks: readonly RecordPick[]): Measured {
  const points = picks.map((pick) => pick.at);
  const value = (of: readonly Vector3[]): number => {
    const [a, b] = of as [Vector3, Vector3];
    return (2 * Math.abs(signedPlanArea(of))) / Math.hypot(b[0] - a[0], b[1] - a[1]);
  };
  const [a, b] = points as [Vector3, Vector3];
  if (Math.hypot(b[0] - a[0], b[1] - a[1]) < 0.01) return missing('the first two picks stand above one another');
  // Right on the line the size of the width grows either way; its doubt is that of a step to one side.
  return Math.abs(signedPlanArea(points)) < 1e-6 ? missing('the third pick stands on the line of the first two') : fromPicks(value(points), picks, numericGradients(points, value));
}

/** Angle between two planes, measured inside the roof: 180° where they are one, less at a ridge, more at a valley. [deg] */
export function angleOfPlanes(a: PlaneTarget, b: PlaneTarget): Measured {
  if (a.normal[2] < 0.02 || b.normal[2] < 0.02) return missing('one of the planes stands upright');
  const slopes = [a, b].flatMap(({ normal }) => [-normal[0] / normal[2], -normal[1] / normal[2]]);
  const value = ([ax, ay, bx, by]: readonly number[]): number => {
    const cosine = (ax! * bx! + ay! * by! + 1) / Math.sqrt((ax! * ax! + ay! * ay! + 1) * (bx! * bx! + by! * by! + 1));
    return (acos(Math.min(1, Math.max(-1, cosine))) * 180) / Math.PI;
  };
  if (!a.evidence || !b.evidence || a.evidence.covariance.length !== 9 || b.evidence.covariance.length !== 9) return missing('how sure the planes lie is not in the record');
  const step = 1e-5;
  const gradient = slopes.map((_, i) => (value(slopes.with(i, slopes[i]! + step)) - value(slopes.with(i, slopes[i]! - step))) / (2 * step));
  const part = (plane: PlaneTarget, [gx, gy]: readonly number[]): { name: string; u95: number } => {
    const c = plane.evidence!.covariance;
    return { name: `slope of ${plane.name}`, u95: SIGMAS_IN_95 * Math.sqrt(Math.max(0, gx! * gx! * c[4]! + 2 * gx! * gy! * c[5]! + gy! * gy! * c[8]!)) };
  };
  const turn = value(slopes);
  const inside = isRidgeLike(a, b) ? 180 - turn : 180 + turn;
  return measured(inside, [part(a, gradient.slice(0, 2)), part(b, gradient.slice(2))]);
}

/** Water runs away from the line between the planes on both sides. */
function isRidgeLike(a: PlaneTarget, b: PlaneTarget): boolean {
  const middle = ({ outline }: PlaneTarget): readonly [number, number] => [outline.reduce((sum, [x]) => sum + x, 0) / outline.length, outline.reduce((sum, [, y]) => sum + y, 0) / outline.length];
  const at = middle(b);
  // From under plane a, plane b lies below a's continuation at a ridge and above it at a valley.
  return planeElevationAt(b, at) < planeElevationAt(a, at);
}

export interface RingNumbers {
  /** On the plane that fits the corners best. */
  readonly surface: Measured;
  readonly plan: Measured;
}

/**
 * Areas of a ring of picks. Each corner's share is the area's rate of change when that corner moves: half the
 * diagonal between its neighbours (Newell's sum, differentiated).
 */
export function ringNumbers(picks: readonly RecordPick[]): RingNumbers {
  if (picks.length < 3) return { surface: missing('an area needs three corners'), plan: missing('an area needs three corners') };
  const ring = picks.map((pick) => pick.at);
  const crossing = outlineCrossing(ring);
  if (crossing) return { surface: missing(crossing), plan: missing(crossing) };
  const plan = signedPlanArea(ring);
  const facing = ringNormal(ring);
  const planSign = Math.sign(plan) || 1;
  const planGradients: Vector3[] = [];
  const surfaceGradients: Vector3[] = [];
  ring.forEach((_, i) => {
    const before = ring[(i + ring.length - 1) % ring.length]!;
    const after = ring[(i + 1) % ring.length]!;
    const diagonal = subtract(after, before);
    planGradients.push([(planSign * diagonal[1]) / 2, (-planSign * diagonal[0]) / 2, 0]);
    surfaceGradients.push(scale(cross(diagonal, facing), 0.5));
  });
  return {
    surface: fromPicks(surfaceArea(ring), picks, surfaceGradients),
    plan: fromPicks(Math.abs(plan), picks, planGradients),
  };
}

/** Pitch of the plane through three picks. [deg] */
export function pitchOfThree(picks: readonly RecordPick[]): Measured {
  const [a, b, c] = picks as [RecordPick, RecordPick, RecordPick];
  const value = (points: readonly Vector3[]): number => {
    const normal = cross(subtract(points[1]!, points[0]!), subtract(points[2]!, points[0]!));
    return (atan2(Math.hypot(normal[0], normal[1]), Math.abs(normal[2])) * 180) / Math.PI;
  };
  const points = [a.at, b.at, c.at];
  if (length(cross(subtract(b.at, a.at), subtract(c.at, a.at))) < 1e-4) return missing('the three picks stand in one line');
  return fromPicks(value(points), [a, b, c], numericGradients(points, value));
}

/** Radius of the circle through three picks, in plan. */
export function radiusOfThree(picks: readonly RecordPick[]): Measured {
  const points = picks.map((pick) => pick.at);
  const value = (of: readonly Vector3[]): number => {
    const [a, b, c] = of as [Vector3, Vector3, Vector3];
    const side = (p: Vector3, q: Vector3): number => Math.hypot(p[0] - q[0], p[1] - q[1]);
    return (side(a, b) * side(b, c) * side(c, a)) / (4 * Math.abs(signedPlanArea(of)));
  };
  if (Math.abs(signedPlanArea(points)) < 1e-6) return missing('the three picks stand in one line');
  return fromPicks(value(points), picks, numericGradients(points, value));
}

/** Angle at the second pick between the lines to the first and the third. [deg] */
export function angleAtSecond(picks: readonly RecordPick[]): Measured {
  const points = picks.map((pick) => pick.at);
  const value = (of: readonly Vector3[]): number => {
    const u = subtract(of[0]!, of[1]!);
    const v = subtract(of[2]!, of[1]!);
    return (atan2(length(cross(u, v)), dot(u, v)) * 180) / Math.PI;
  };
  if (length(subtract(points[0]!, points[1]!)) < 1e-6 || length(subtract(points[2]!, points[1]!)) < 1e-6) return missing('two picks stand on one place');
  return fromPicks(value(points), picks, numericGradients(points, value));
}

/** Central differences over a millimetre: far above rounding, far below any roof. */
function numericGradients(points: readonly Vector3[], value: (of: readonly Vector3[]) => number): Vector3[] {
  const step = 0.001;
  return points.map((point, i) => {
    const slope = (axis: number): number => {
      const moved = (by: number) => points.with(i, point.with(axis, point[axis]! + by) as unknown as Vector3);
      return (value(moved(step)) - value(moved(-step))) / (2 * step);
    };
    return [slope(0), slope(1), slope(2)];
  });
}

function ringNormal(ring: readonly Vector3[]): Vector3 {
  let sum: Vector3 = [0, 0, 0];
  for (let i = 1; i + 1 < ring.length; i++) {
    const turn = cross(subtract(ring[i]!, ring[0]!), subtract(ring[i + 1]!, ring[0]!));
    sum = [sum[0] + turn[0], sum[1] + turn[1], sum[2] + turn[2]];
  }
  return length(sum) > 1e-12 ? normalize(sum) : [0, 0, 1];
}

/** Says so when two sides of a ring cross, seen from above; null when none do. */
export function outlineCrossing(ring: readonly Vector3[]): string | null {
  for (let i = 0; i < ring.length; i++) {
    for (let j = i + 2; j < ring.length; j++) {
      if (i === 0 && j === ring.length - 1) continue;
      if (sidesCross(ring[i]!, ring[i + 1]!, ring[j]!, ring[(j + 1) % ring.length]!)) return 'the outline crosses itself';
    }
  }
  return null;
}

function sidesCross(a: Vector3, b: Vector3, c: Vector3, d: Vector3): boolean {
  const turn = (p: Vector3, q: Vector3, r: Vector3): number => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}
