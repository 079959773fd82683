import { distanceToPlane, planeElevationAt } from '../../geometry/plane.ts';
import { dot, type Vector3 } from '../../geometry/vector.ts';
import type { RoofPlane, RoofRecord } from '../../roof/record.ts';
import { assign } from './assignment.ts';
import type { IntervalList } from './interval-list.ts';
import { planOverlap, planSpans, type PlanSpans } from './plan-spans.ts';
import type { PlaneFate, PlaneMatch, Topology } from './score.ts';
import type { Truth, TruthPlane } from './truth.ts';
import { acos } from '../../geometry/same-math.ts';

/** Planes further apart than this in direction share nothing. [deg] */
const GREATEST_ANGLE = 10;
/** Nor when one lies above the other by more than this, or three times their stated sigma if that is more. [m] */
const GREATEST_GAP = 0.1;
/** Share of the smaller plane that links two. */
const LINK = 0.1;
/** Overlap (intersection over union) from which a pair counts as found. */
export const FOUND = 0.5;

export interface PlanePair {
  readonly truth: TruthPlane;
  readonly record: RoofPlane;
  readonly overlap: number;
}

export interface PlanesScored {
  readonly truthPlanes: PlaneFate[];
  readonly recordPlanes: PlaneFate[];
  readonly planesOnCurves: number;
  readonly topology: Topology;
  /** Pairs that count as found. */
  readonly pairs: PlanePair[];
}

/** @param truth  In the record's local frame. */
export function scorePlanes(record: RoofRecord, truth: Truth, scene: string): PlanesScored {
  const found = record.buildings.flatMap((b) => b.roofPlanes);
  const onCurve = (p: RoofPlane): boolean => {
    const middle = planSpans([p.outline]);
    return truth.curved.some((c) => planOverlap(planSpans([c.ring]), middle).planArea > 0.5 * middle.planArea);
  };
  const planes = found.filter((p) => !onCurve(p));
  const trueSpans = truth.planes.map((p) => planSpans([p.ring, ...p.holes]));
  const ourSpans = planes.map((p) => planSpans([p.outline, ...p.holes]));
  const common = truth.planes.map((t, i) => planes.map((r, j) => commonArea(t, r, trueSpans[i]!, ourSpans[j]!)));
  const overlaps = common.map((row, i) => row.map((area, j) => {
    const union = trueSpans[i]!.planArea + ourSpans[j]!.planArea - area;
    return union > 0 ? area / union : 0;
  }));
  const partner = assign(overlaps, planes.length);
  const pairs: PlanePair[] = [];
  partner.forEach((j, i) => {
    if (j >= 0 && overlaps[i]![j]! >= FOUND) pairs.push({ truth: truth.planes[i]!, record: planes[j]!, overlap: overlaps[i]![j]! });
  });
  return {
    truthPlanes: truth.planes.map((t, i) => ({
      id: t.id, scene, slopeAreaM2: t.slopeAreaM2, partner: partner[i]! < 0 ? null : planes[partner[i]!]!.id,
      overlap: partner[i]! < 0 ? 0 : overlaps[i]![partner[i]!]!,
    })),
    recordPlanes: planes.map((p, j) => {
      const i = partner.indexOf(j);
      return { id: p.id, scene, slopeAreaM2: ourSpans[j]!.planArea / p.normal[2], partner: i < 0 ? null : truth.planes[i]!.id, overlap: i < 0 ? 0 : overlaps[i]![j]! };
    }),
    planesOnCurves: found.length - planes.length,
    topology: topologyOf(common, trueSpans, ourSpans, truth.planes, planes, scene),
    pairs,
  };
}

function commonArea(t: TruthPlane, r: RoofPlane, ts: PlanSpans, rs: PlanSpans): number {
  const angle = (acos(Math.min(1, Math.abs(dot(t.normal, r.normal)))) * 180) / Math.PI;
  if (angle > GREATEST_ANGLE || t.normal[2] < 0.02 || r.normal[2] < 0.02) return 0;
  const both = planOverlap(ts, rs);
  if (both.planArea === 0) return 0;
  const gap = planeElevationAt(planeOf(t), both.centre) - planeElevationAt(r, both.centre);
  // A steep plane's height gap is a smaller distance.
  const stated = r.evidence ? 3 * Math.sqrt(Math.max(0, r.evidence.covariance[0] ?? 0)) : 0;
  return Math.abs(gap) * t.normal[2] < Math.max(GREATEST_GAP, stated) ? both.planArea : 0;
}

export const planeOf = (t: TruthPlane): { normal: Vector3; offset: number } => ({ normal: t.normal, offset: -dot(t.normal, t.ring[0]!) });

function topologyOf(
  common: number[][], trueSpans: PlanSpans[], ourSpans: PlanSpans[], truths: readonly TruthPlane[], planes: readonly RoofPlane[], scene: string,
): Topology {
  // Truth planes are nodes 0 …, record planes follow.
  const count = truths.length + planes.length;
  const root = Array.from({ length: count }, (_, i) => i);
  const find = (i: number): number => (root[i] === i ? i : (root[i] = find(root[i]!)));
  common.forEach((row, i) => row.forEach((area, j) => {
    const least = Math.min(trueSpans[i]!.planArea, ourSpans[j]!.planArea);
    if (least > 0 && area / least >= LINK) root[find(truths.length + j)] = find(i);
  }));
  const groups = new Map<number, { truth: string[]; record: string[] }>();
  for (let i = 0; i < count; i++) {
    const group = groups.get(find(i)) ?? { truth: [], record: [] };
    if (i < truths.length) group.truth.push(truths[i]!.id);
    else group.record.push(planes[i - truths.length]!.id);
    groups.set(find(i), group);
  }
  const list = [...groups.values()];
  const kind = (test: (t: number, r: number) => boolean): number => list.filter((g) => test(g.truth.length, g.record.length)).length;
  return {
    oneToOne: kind((t, r) => t === 1 && r === 1), oneToMany: kind((t, r) => t === 1 && r > 1), manyToOne: kind((t, r) => t > 1 && r === 1),
    manyToMany: kind((t, r) => t > 1 && r > 1), missed: kind((t, r) => t === 1 && r === 0), invented: kind((t, r) => t === 0 && r === 1),
    groups: list.filter((g) => g.truth.length !== 1 || g.record.length !== 1).map((g) => ({ scene, ...g })),
  };
}

/** Errors of a found plane's numbers; intervals go to the list. */
export function comparePlane(pair: PlanePair, record: RoofRecord, intervals: IntervalList): PlaneMatch {
  const { truth: t, record: r } = pair;
  const scale = record.frame.scaleFactor;
  const turn = (a: number, b: number): number => ((((a - b) % 360) + 540) % 360) - 180;
  const trueAzimuth = t.azimuthGridDeg === null ? null : t.azimuthGridDeg + record.frame.gridToTrueDeg;
  const slopeArea = t.slopeAreaM2 / scale ** 2;
  const slopeAreaError = intervals.add('slope area', r.id, r.slopeAreaM2, slopeArea);
  intervals.add('plan area', r.id, r.planAreaM2, t.planAreaM2 / scale ** 2);
  const pitchErrorDeg = intervals.add('pitch', r.id, r.pitchDeg, t.pitchDeg);
  // A level plane has no bearing: what the record says of one is neither right nor wrong.
  const azimuthError = trueAzimuth === null || t.pitchDeg < 0.3 ? null : intervals.add('azimuth', r.id, r.azimuthDeg, trueAzimuth, turn);
  return {
    truth: t.id, record: r.id, scene: intervals.scene, roof: t.roof, slopeAreaM2: t.slopeAreaM2, pitchDeg: t.pitchDeg,
    angleDeg: (acos(Math.min(1, Math.abs(dot(t.normal, r.normal)))) * 180) / Math.PI,
    pitchErrorDeg, azimuthErrorDeg: t.pitchDeg > 2 ? azimuthError : null, offsetM: offsetAtMiddle(t, r),
    slopeAreaErrorShare: slopeAreaError === null ? null : slopeAreaError / slopeArea,
  };
}

function offsetAtMiddle(t: TruthPlane, r: RoofPlane): number {
  const middle: [number, number, number] = [0, 0, 0];
  for (const p of t.ring) for (let k = 0; k < 3; k++) middle[k]! += p[k]! / t.ring.length;
  // Positive when ours lies above: the true point is then below our plane.
  return -distanceToPlane(r, middle);
}

