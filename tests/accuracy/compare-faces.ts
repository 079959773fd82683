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
  readonly areaM2: number;
}

const GREATEST_ANGLE = 2;
const LEAST_SHARE = 0.5;

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

/** One-to-one partners: less than 2° apart, at least half of the face's plan covered; greatest sum of shares. */
export function meetsFaces(faces: readonly PublishedFace[], planes: readonly RoofPlane[]): (RoofPlane | null)[] {
  const gains = faces.map((f) => planes.map((p) => {
    if (angleBetween(f.normal, p.normal) >= GREATEST_ANGLE) return 0;
    const share = shareCovered(f.rings, p);
    return share >= LEAST_SHARE ? share : 0;
  }));
  return assign(gains, planes.length).map((j) => (j < 0 ? null : planes[j]!));
}
