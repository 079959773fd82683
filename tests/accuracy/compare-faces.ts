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

const GREATEST_ANGLE = 2;
const LEAST_SHARE = 0.5;
/** Faces that lie this near in plan, and in height where one is carried on to the middle of the other, go on into each other. [m] */
const BESIDE = 0.6;
const LEAST_STEP = 0.1;

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

/**
 * Faces with those neighbours joined that go on in the same plane: nothing in the roof shows where one ends.
 *
 * @param describe  Name and plane of several faces taken together.
 */
export function joinedFaces(faces: readonly PublishedFace[], describe: (group: readonly PublishedFace[]) => Pick<PublishedFace, 'name' | 'normal' | 'middle'>): PublishedFace[] {
  const owner = faces.map((_, i) => i);
  const find = (i: number): number => (owner[i] === i ? i : find(owner[i]!));
  faces.forEach((a, i) => faces.slice(0, i).forEach((b, j) => {
    if (angleBetween(a.normal, b.normal) < GREATEST_ANGLE && stepBetween(a, b) < LEAST_STEP && areBeside(a, b)) owner[find(i)] = find(j);
  }));
  return faces.flatMap((face, i) => {
    const group = faces.filter((_, k) => find(k) === i);
    if (group.length === 0) return [];
    if (group.length === 1) return [face];
    return [{ ...describe(group), rings: group.flatMap((one) => one.rings), areaM2: group.reduce((sum, one) => sum + one.areaM2, 0) }];
  });
}

/** Greater distance of the middle of one from the plane of the other. [m] */
function stepBetween(a: PublishedFace, b: PublishedFace): number {
  const off = ({ normal, middle }: PublishedFace, p: Vector3): number => Math.abs(normal.reduce((sum, c, k) => sum + c * (p[k]! - middle[k]!), 0));
  return Math.max(off(a, b.middle), off(b, a.middle));
}

const areBeside = (a: PublishedFace, b: PublishedFace): boolean =>
  a.rings.some((ring) => b.rings.some((other) => ring.some((p) => distanceToRing(other, p) < BESIDE) || other.some((p) => distanceToRing(ring, p) < BESIDE)));

function distanceToRing(ring: readonly Vector3[], [x, y]: Vector3): number {
  let least = Infinity;
  ring.forEach(([ax, ay], i) => {
    const [bx, by] = ring[(i + 1) % ring.length]!;
    const square = (bx - ax) ** 2 + (by - ay) ** 2;
    const t = square > 0 ? Math.min(1, Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / square)) : 0;
    least = Math.min(least, Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay)));
  });
  return least;
}
