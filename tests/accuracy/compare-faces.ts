import { distanceToRing } from '../../src/geometry/ring-distance.ts';
import type { Vector2, Vector3 } from '../../src/geometry/vector.ts';
import type { RoofPlane } from '../../src/roof/record.ts';
import { assign } from '../../src/survey/score/assignment.ts';
import { planOverlap, planSpans } from '../../src/survey/score/plan-spans.ts';

/** A face of a published model, in the record's local frame. */
export interface PublishedFace {
  readonly name: string;
  /** Pieces that do not overlap. */
  readonly rings: readonly (readonly Vector3[])[];
  readonly normal: Vector3;
  /** A point on it. */
  readonly middle: Vector3;
  readonly areaM2: number;
}

export const GREATEST_ANGLE = 2;
export const LEAST_SHARE = 0.5;
/** Faces that lie this near in plan are neighbours. [m] */
const BESIDE = 0.6;

/** [deg] */
export const angleBetween = (a: Vector3, b: Vector3): number =>
  (Math.acos(Math.min(1, Math.abs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]))) * 180) / Math.PI;

/** A floor drawn with the roof. */
export const isLevel = (face: PublishedFace): boolean => face.normal[2] > 0.9999;

/** Share of the rings' plan area that a plane covers. */
export function shareCovered(rings: readonly (readonly (Vector2 | Vector3)[])[], plane: RoofPlane): number {
  const own = planSpans(rings);
  return own.planArea > 0 ? planOverlap(own, planSpans([plane.outline, ...plane.holes])).planArea / own.planArea : 0;
}

export function largestShare(rings: readonly (readonly (Vector2 | Vector3)[])[], planes: readonly RoofPlane[]): { plane: RoofPlane | null; share: number } {
  let best: { plane: RoofPlane | null; share: number } = { plane: null, share: 0 };
  for (const plane of planes) {
    const share = shareCovered(rings, plane);
    if (share > best.share) best = { plane, share };
  }
  return best;
}

/** Share of each face's plan that each plane covers, face by face. */
export function sharesOf(faces: readonly PublishedFace[], planes: readonly RoofPlane[]): number[][] {
  const spans = planes.map((plane) => ({ box: boxOf([plane.outline]), spans: planSpans([plane.outline, ...plane.holes]) }));
  return faces.map(({ rings }) => {
    const [own, box] = [planSpans(rings), boxOf(rings)];
    return spans.map((plane) => (own.planArea > 0 && boxesMeet(box, plane.box) ? planOverlap(own, plane.spans).planArea / own.planArea : 0));
  });
}

type Box = readonly [number, number, number, number];

function boxOf(rings: readonly (readonly Vector3[])[]): Box {
  const [xs, ys] = [0, 1].map((k) => rings.flatMap((ring) => ring.map((p) => p[k]!))) as [number[], number[]];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

const boxesMeet = (a: Box, b: Box): boolean => a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];

/**
 * One-to-one partners: less than 2° apart, at least half of the face's plan covered. As many faces as can be have one; of all
 * ways the one with the greatest sum of shares (exact, by the shortest augmenting path).
 */
export function meetsFaces(faces: readonly PublishedFace[], planes: readonly RoofPlane[], shares = sharesOf(faces, planes)): (RoofPlane | null)[] {
  const gains = faces.map((f, i) => planes.map((p, j) => (shares[i]![j]! >= LEAST_SHARE && angleBetween(f.normal, p.normal) < GREATEST_ANGLE ? faces.length + shares[i]![j]! : 0)));
  return assign(gains, planes.length).map((j) => (j < 0 ? null : planes[j]!));
}

/** True for faces that touch in plan, or nearly so. */
export function areBeside(a: PublishedFace, b: PublishedFace): boolean {
  const [left, bottom, right, top] = boxOf(a.rings);
  return boxesMeet([left - BESIDE, bottom - BESIDE, right + BESIDE, top + BESIDE], boxOf(b.rings)) && gapBetween(a.rings, b.rings) < BESIDE;
}

/** Least distance of the corners of either from the sides of the other, in plan. [m] */
const gapBetween = (a: PublishedFace['rings'], b: PublishedFace['rings']): number =>
  Math.min(...a.flatMap((ring) => ring.map((p) => distanceToRings(b, p))), ...b.flatMap((ring) => ring.map((p) => distanceToRings(a, p))));

/** From the sides of rings, in plan. [m] */
export const distanceToRings = (rings: PublishedFace['rings'], [x, y]: Vector3): number => Math.min(...rings.map((ring) => distanceToRing(ring, [x, y])));
