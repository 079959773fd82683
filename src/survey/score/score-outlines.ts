import { cross, dot, normalize, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { assign } from './assignment.ts';
import type { PlanePair } from './score-planes.ts';
import { POORLY_DETERMINED_DEG, type OutlineSeen, type SideSeen } from './score.ts';
import type { Truth, TruthEdge } from './truth.ts';
import { atan2, cos, sin } from '../../geometry/same-math.ts';

/** Rings are compared at points this far apart. [m] */
const STEP = 0.05;
/** A record's outline further away than this is another line, not this side drawn badly. [m] */
export const LOST_SIDE = 1;
/** Part of a side, from its middle, that is compared: corners have their own figures. */
const SIDE_PART = 0.8;
/** A corner turns by more than this. [rad] */
const CORNER_TURN = (4 / 180) * Math.PI;

/** Corners farther from each other are not one corner. [m] */
export const farthestCorner = (spacing: number): number => Math.max(3 * spacing, 0.3);

/** Compares the outer rings of a pair in the true plane. */
export function compareOutline(pair: PlanePair, truth: Truth, scene: string): { outline: OutlineSeen; sides: SideSeen[] } {
  const { truth: t, record: r } = pair;
  const spacingM = truth.sampling.spacingM;
  const origin = t.ring[0]!;
  const level = Math.hypot(t.normal[0], t.normal[1]) < 1e-9;
  const u: Vector3 = level ? [1, 0, 0] : normalize([-t.normal[1], t.normal[0], 0]);
  const v = cross(t.normal, u);
  const flat = (p: Vector3): Vector2 => [dot(subtract(p, origin), u), dot(subtract(p, origin), v)];
  const ours = r.outline.map(flat);
  const theirs = t.ring.map(flat);
  const signedOurs = densify(ours).map((p) => distanceToRing(p, theirs) * (ringContains(theirs, p) ? -1 : 1));
  const signedTheirs = densify(theirs).map((p) => distanceToRing(p, ours) * (ringContains(ours, p) ? 1 : -1));
  const both = [...signedOurs, ...signedTheirs];
  const edges = t.ring.map((from, i) => sideEdge(truth, t.id, from, t.ring[(i + 1) % t.ring.length]!));
  const poor = edges.map((edge) => isPoorlyDetermined(truth, edge));
  const determined = (i: number): boolean => !poor[i]! && !poor[(i + poor.length - 1) % poor.length]!;
  const corners = compareCorners(trueCorners(ours).map((i) => ours[i]!), trueCorners(theirs).map((i) => ({ at: theirs[i]!, determined: determined(i) })), spacingM);
  const polis = 0.5 * (mean(ours.map((p) => distanceToRing(p, theirs))) + mean(theirs.map((p) => distanceToRing(p, ours))));
  return {
    outline: {
      plane: t.id, scene, spacingM, polisM: polis, rmsM: Math.sqrt(mean(both.map((d) => d * d))), biasM: (mean(signedOurs) + mean(signedTheirs)) / 2,
      greatestM: both.reduce((most, d) => Math.max(most, Math.abs(d)), 0), ...corners,
    },
    sides: theirs.map((a, i) => {
      const b = theirs[(i + 1) % theirs.length]!;
      return {
        plane: t.id, scene, spacingM, kind: edges[i]?.kind ?? 'unknown', lengthM: Math.hypot(b[0] - a[0], b[1] - a[1]), offsetM: sideOffset(a, b, ours),
        poorlyDetermined: poor[i]!,
      };
    }),
  };
}

const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;

function densify(ring: readonly Vector2[]): Vector2[] {
  return ring.flatMap((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    const count = Math.max(1, Math.round(Math.hypot(b[0] - a[0], b[1] - a[1]) / STEP));
    return Array.from({ length: count }, (_, k): Vector2 => {
      const share = (k + 0.5) / count;
      return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
    });
  });
}

function distanceToRing(p: Vector2, ring: readonly Vector2[]): number {
  let least = Infinity;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) least = Math.min(least, distanceToSegment(p, ring[j]!, ring[i]!));
  return least;
}

export function distanceToSegment(p: Vector2, a: Vector2, b: Vector2): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const square = dx * dx + dy * dy;
  const along = square === 0 ? 0 : Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square));
  return Math.hypot(p[0] - a[0] - along * dx, p[1] - a[1] - along * dy);
}

/**
 * Mean distance of our ring beyond a true side, along the side's outward normal. At each of the side's points the nearest
 * crossing of that normal with our ring counts.
 */
function sideOffset(a: Vector2, b: Vector2, ours: readonly Vector2[]): number | null {
  const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const along: Vector2 = [(b[0] - a[0]) / size, (b[1] - a[1]) / size];
  const outward: Vector2 = [along[1], -along[0]];
  const count = Math.max(4, Math.round((size * SIDE_PART) / STEP));
  const offsets: number[] = [];
  for (let k = 0; k < count; k++) {
    const at = size * ((1 - SIDE_PART) / 2 + (SIDE_PART * (k + 0.5)) / count);
    const offset = nearestCrossing([a[0] + along[0] * at, a[1] + along[1] * at], outward, ours);
    if (offset !== null) offsets.push(offset);
  }
  return offsets.length < count / 2 ? null : mean(offsets);
}

function nearestCrossing(p: Vector2, outward: Vector2, ring: readonly Vector2[]): number | null {
  let nearest: number | null = null;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [ax, ay] = ring[j]!;
    const [bx, by] = ring[i]!;
    // Signed distances of both ends from the normal's line.
    const da = (ax - p[0]) * outward[1] - (ay - p[1]) * outward[0];
    const db = (bx - p[0]) * outward[1] - (by - p[1]) * outward[0];
    if (da > 0 === db > 0) continue;
    const share = da / (da - db);
    const x = ax + (bx - ax) * share - p[0];
    const y = ay + (by - ay) * share - p[1];
    const distance = x * outward[0] + y * outward[1];
    if (Math.abs(distance) <= LOST_SIDE && (nearest === null || Math.abs(distance) < Math.abs(nearest))) nearest = distance;
  }
  return nearest;
}

/** The true edge that a side of a plane lies on. */
function sideEdge(truth: Truth, plane: string, from: Vector3, to: Vector3): TruthEdge | null {
  const middle: Vector3 = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2, (from[2] + to[2]) / 2];
  const nearest = truth.edges
    .filter((e) => e.planes.includes(plane))
    .map((edge) => ({ edge, distance: distanceToSegment3(middle, edge.from, edge.to) }))
    .sort((a, b) => a.distance - b.distance)[0];
  return nearest && nearest.distance < 0.01 ? nearest.edge : null;
}

function isPoorlyDetermined(truth: Truth, edge: TruthEdge | null): boolean {
  if (edge?.planes.length !== 2) return false;
  const [a, b] = edge.planes.map((id) => truth.planes.find((plane) => plane.id === id)?.normal);
  if (!a || !b) return false;
  const across = cross(a, b);
  return Math.sqrt(dot(across, across)) < sin((POORLY_DETERMINED_DEG / 180) * Math.PI);
}

export function distanceToSegment3(p: Vector3, a: Vector3, b: Vector3): number {
  const d = subtract(b, a);
  const square = dot(d, d);
  const along = square === 0 ? 0 : Math.max(0, Math.min(1, dot(subtract(p, a), d) / square));
  return Math.hypot(p[0] - a[0] - along * d[0], p[1] - a[1] - along * d[1], p[2] - a[2] - along * d[2]);
}

/** Indices of the vertices at which a ring turns. */
function trueCorners(ring: readonly Vector2[]): number[] {
  return ring.flatMap((p, i) => {
    const a = ring[(i + ring.length - 1) % ring.length]!;
    const b = ring[(i + 1) % ring.length]!;
    const turn = atan2(p[1] - a[1], p[0] - a[0]) - atan2(b[1] - p[1], b[0] - p[0]);
    return Math.abs(atan2(sin(turn), cos(turn))) > CORNER_TURN ? [i] : [];
  });
}

function compareCorners(ours: readonly Vector2[], theirs: readonly { readonly at: Vector2; readonly determined: boolean }[], spacing: number) {
  const farthest = farthestCorner(spacing);
  const distances = theirs.map(({ at: t }) => ours.map((o) => Math.hypot(o[0] - t[0], o[1] - t[1])));
  const within = (limit: number): { distance: number; determined: boolean }[] => {
    const partner = assign(distances.map((row) => row.map((d) => (d < limit ? limit - d : 0))), ours.length);
    return partner.flatMap((j, i) => (j < 0 ? [] : [{ distance: distances[i]![j]!, determined: theirs[i]!.determined }]));
  };
  const near = within(farthest);
  return {
    truthCorners: theirs.length, recordCorners: ours.length,
    cornersWithin: { oneSpacing: within(spacing).length, twoSpacings: within(2 * spacing).length, tenCentimetres: within(0.1).length },
    cornerDistancesM: near.map(({ distance }) => distance),
    determinedCornerDistancesM: near.filter(({ determined }) => determined).map(({ distance }) => distance),
  };
}
