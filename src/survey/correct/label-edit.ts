import { besideLine, type PlanLine } from '../../geometry/plan-line.ts';
import type { Plane } from '../../geometry/plane.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { distanceToRing } from '../../geometry/ring-distance.ts';
import { dot, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import { InputError } from '../../units/input-error.ts';
import { relabel, residualAt, type LabelPatch } from './label-patch.ts';
import { FEWEST_POINTS, fitPointPlane, LABEL_SIGMAS, planeAmong } from './point-plane.ts';
import { cos } from '../../geometry/same-math.ts';

/** A roof plane as it stood when something about its points was decided. */
export interface PlanePlace extends Plane {
  readonly id: string;
  readonly outline: readonly Vector3[];
}

/** What a person says about which points make a plane. Told by places, not by labels: labels are a matter of one run. */
export type LabelEdit =
  | { readonly kind: 'merge'; readonly of: readonly [string, string]; readonly planes: readonly PlanePlace[] }
  | { readonly kind: 'split'; readonly of: string; readonly along: readonly [Vector2, Vector2]; readonly planes: readonly PlanePlace[] }
  | { readonly kind: 'lasso'; readonly ring: readonly Vector2[] };

/** Loose points this far beyond an outline may join its plane. [m] */
const BESIDE_M = 0.3;
/** The two sides of a split meet where their planes do when these differ by more; points near the line then choose between them. */
const DIFFERENT_PLANES = cos((1.5 * Math.PI) / 180);
const NEAR_LINE_M = 0.6;

/**
 * Gives points other labels as a person said.
 *
 * @returns The labels it made.
 * @throws InputError when the points do not allow it.
 */
export function applyLabelEdit(patch: LabelPatch, edit: LabelEdit): number[] {
  if (edit.kind === 'merge') return merge(patch, edit);
  const made = edit.kind === 'split' ? split(patch, edit) : lasso(patch, edit);
  for (const label of made) patch.madeLabels.add(label);
  return made;
}

function merge(patch: LabelPatch, { of, planes }: LabelEdit & { kind: 'merge' }): number[] {
  const [a, b] = of.map((id) => membersOf(patch, id, planes)) as [Uint32Array, Uint32Array];
  const members = new Uint32Array(a.length + b.length);
  members.set(a);
  members.set(b, a.length);
  const plane = fitPointPlane(patch, members);
  const label = relabel(patch, members, plane);
  const rings = of.map((id) => placeNamed(planes, id).outline);
  adoptLoose(patch, plane, label, (at) => rings.some((ring) => isBeside(ring, at)));
  return [label];
}

function split(patch: LabelPatch, { of, along: [from, to], planes }: LabelEdit & { kind: 'split' }): number[] {
  const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (!(size > 0)) throw new InputError('line', 'both ends are one place.');
  const line: PlanLine = { at: from, direction: [(to[0] - from[0]) / size, (to[1] - from[1]) / size] };
  const before = labelIn(patch, placeNamed(planes, of));
  const members = membersOf(patch, of, planes);
  const beside = (i: number): number => besideLine(line, [patch.x[i]!, patch.y[i]!]);
  const first = [members.filter((i) => beside(i) >= 0), members.filter((i) => beside(i) < 0)];
  if (first.some(({ length }) => length < FEWEST_POINTS)) throw new InputError('line', `it leaves fewer than ${FEWEST_POINTS} points on one side.`);
  const [left, right] = first.map((side) => fitPointPlane(patch, side)) as [Plane, Plane];
  const differ = Math.abs(dot(left.normal, right.normal)) < DIFFERENT_PLANES;
  const nearerLeft = (i: number): boolean => Math.abs(residualAt(patch, left, i)) <= Math.abs(residualAt(patch, right, i));
  const isLeft = (i: number): boolean => (differ && Math.abs(beside(i)) < NEAR_LINE_M ? nearerLeft(i) : beside(i) >= 0);
  const { outline } = placeNamed(planes, of);
  const made = ([true, false] as const).map((side) => {
    const own = members.filter((i) => isLeft(i) === side);
    const plane = fitPointPlane(patch, own);
    const half = relabel(patch, own, plane);
    adoptLoose(patch, plane, half, (at) => besideLine(line, at) >= 0 === side && isBeside(outline, at));
    return half;
  }) as [number, number];
  // Borders drawn before still part what is left of the plane from its neighbours.
  for (const { labels, line: drawn } of patch.drawn.slice()) {
    const other = labels[0] === before ? labels[1] : labels[1] === before ? labels[0] : null;
    if (other !== null) patch.drawn.push(...made.map((half) => ({ labels: [half, other] as const, line: drawn })));
  }
  if (!differ) patch.drawn.push({ labels: made, line });
  return made;
}

function lasso(patch: LabelPatch, { ring }: LabelEdit & { kind: 'lasso' }): number[] {
  // Another building's points stay its own.
  const inside = pointsWhere(patch, (i) => (patch.labels[i] === 0 || patch.own.has(patch.labels[i]!)) && ringContains(ring, [patch.x[i]!, patch.y[i]!]));
  const { plane, members } = planeAmong(patch, inside);
  return [relabel(patch, members, plane)];
}

function placeNamed(planes: readonly PlanePlace[], id: string): PlanePlace {
  const plane = planes.find((candidate) => candidate.id === id);
  if (!plane) throw new RangeError(`No plane ${id} among those of the edit.`);
  return plane;
}

function pointsWhere({ labels }: LabelPatch, isWanted: (i: number) => boolean): Uint32Array {
  const found = new Uint32Array(labels.length);
  let count = 0;
  for (let i = 0; i < labels.length; i++) if (isWanted(i)) found[count++] = i;
  return found.slice(0, count);
}

/**
 * Points of one plane. Two planes may be pieces of one label: a point then belongs to the piece whose outline holds it,
 * else to the nearest.
 */
function membersOf(patch: LabelPatch, id: string, planes: readonly PlanePlace[]): Uint32Array {
  const wanted = labelIn(patch, placeNamed(planes, id));
  if (wanted === 0) throw new InputError('plane', 'its points are not among those that are open. Open the files it was made from.');
  const pieces = planes.filter((plane) => plane.id === id || labelIn(patch, plane) === wanted);
  return pointsWhere(patch, (i) => patch.labels[i] === wanted && (pieces.length === 1 || nearestPiece(pieces, [patch.x[i]!, patch.y[i]!]).id === id));
}

/** The label most points have that lie in a plane's outline and on it; 0 when none does. */
function labelIn(patch: LabelPatch, plane: PlanePlace): number {
  const counts = new Map<number, number>();
  const reach = 2 * LABEL_SIGMAS * patch.noise;
  const xs = plane.outline.map(([x]) => x);
  const ys = plane.outline.map(([, y]) => y);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  for (let i = 0; i < patch.labels.length; i++) {
    const [x, y, label] = [patch.x[i]!, patch.y[i]!, patch.labels[i]!];
    if (x < x0 || x > x1 || y < y0 || y > y1 || !patch.own.has(label)) continue;
    if (Math.abs(residualAt(patch, plane, i)) < reach && ringContains(plane.outline, [x, y])) counts.set(label, (counts.get(label) ?? 0) + 1);
  }
  let best = 0;
  for (const [label, count] of counts) if (best === 0 || count > counts.get(best)!) best = label;
  return best;
}

function nearestPiece(pieces: readonly PlanePlace[], at: Vector2): PlanePlace {
  const holding = pieces.find(({ outline }) => ringContains(outline, at));
  return holding ?? pieces.reduce((best, piece) => (distanceToRing(piece.outline, at) < distanceToRing(best.outline, at) ? piece : best));
}

/** Unlabelled points on the plane, in and beside its place, become part of it. */
function adoptLoose(patch: LabelPatch, plane: Plane, label: number, isThere: (at: Vector2) => boolean): void {
  const reach = LABEL_SIGMAS * patch.noise;
  for (let i = 0; i < patch.labels.length; i++) {
    if (patch.labels[i] === 0 && Math.abs(residualAt(patch, plane, i)) <= reach && isThere([patch.x[i]!, patch.y[i]!])) patch.labels[i] = label;
  }
}

const isBeside = (ring: readonly Vector3[], at: Vector2): boolean => ringContains(ring, at) || distanceToRing(ring, at) < BESIDE_M;
