import { dot, length, subtract, type Vector3 } from '../../geometry/vector.ts';
import type { RoofEdge, RoofRecord } from '../../roof/record.ts';
import { isKnown } from '../../units/measured.ts';
import { assign } from './assignment.ts';
import type { IntervalList } from './interval-list.ts';
import { distanceToSegment3 } from './score-outlines.ts';
import type { Score } from './score.ts';
import type { Truth, TruthEdge } from './truth.ts';
import { cos } from '../../geometry/same-math.ts';

/** Greatest angle between edges that may be one. [rad] */
const GREATEST_ANGLE = (12 / 180) * Math.PI;
const COVER_DISTANCE = 0.1;
const COVER_STEP = 0.05;

export type EdgesScored = Pick<Score, 'edges' | 'extraEdges' | 'edgeCover'>;

/** @param truth  In the record's local frame. */
export function scoreEdges(record: RoofRecord, truth: Truth, intervals: IntervalList): EdgesScored {
  const found = record.buildings.flatMap((b) => b.edges);
  const near = Math.max(3 * truth.sampling.spacingM, 0.1);
  const overlaps = truth.edges.map((t) => found.map((r) => (lineDistance(t, r) < near ? commonShare(t, r) : 0)));
  const partner = assign(overlaps.map((row) => row.map((share) => (share >= 0.5 ? share : 0))), found.length);
  const scale = record.frame.scaleFactor;
  return {
    edges: truth.edges.map((t, i) => {
      const r = partner[i]! < 0 ? null : found[partner[i]!]!;
      const trueLength = length(subtract(t.to, t.from)) / scale;
      // The stated interval is about the line's place across itself, whatever the value counts from.
      if (r?.positionM) intervals.add('edge position', r.id, isKnown(r.positionM) ? { ...r.positionM, value: signedSideways(t, r) } : r.positionM, 0);
      return {
        truth: t.id, scene: intervals.scene, kind: t.kind, slopeLengthM: trueLength, record: r?.id ?? null, recordKind: r?.kind ?? null,
        lengthErrorM: r ? intervals.add('edge length', r.id, r.slopeLengthM, trueLength) : null,
      };
    }),
    extraEdges: found.filter((_, j) => !partner.includes(j)).map((r) => ({ id: r.id, kind: r.kind, slopeLengthM: length(subtract(r.to, r.from)) })),
    edgeCover: cover(truth.edges, found),
  };
}

/** Mean distance of two lines over their common part; far when they point apart. [m] */
function lineDistance(t: TruthEdge, r: RoofEdge): number {
  const a = subtract(t.to, t.from);
  const b = subtract(r.to, r.from);
  const cosine = Math.abs(dot(a, b)) / (length(a) * length(b));
  if (!(cosine > cos(GREATEST_ANGLE))) return Infinity;
  const [low, high] = commonPart(t, r);
  if (high <= low) return Infinity;
  const size = length(a);
  let sum = 0;
  for (let k = 0; k < 5; k++) {
    const at = (low + ((high - low) * (k + 0.5)) / 5) / size;
    sum += distanceToSegment3([t.from[0] + a[0] * at, t.from[1] + a[1] * at, t.from[2] + a[2] * at], r.from, r.to);
  }
  return sum / 5;
}

/** Common part along the true edge, as distances from its start. [m] */
function commonPart(t: TruthEdge, r: RoofEdge): [number, number] {
  const a = subtract(t.to, t.from);
  const size = length(a);
  const along = (p: Vector3): number => dot(subtract(p, t.from), a) / size;
  const ends = [along(r.from), along(r.to)];
  return [Math.max(0, Math.min(...ends)), Math.min(size, Math.max(...ends))];
}

/** Common length over the longer of the two. */
function commonShare(t: TruthEdge, r: RoofEdge): number {
  const [low, high] = commonPart(t, r);
  return Math.max(0, high - low) / Math.max(length(subtract(t.to, t.from)), length(subtract(r.to, r.from)));
}

/** Plan distance of our edge's middle from the true line, positive to the left of the true direction. [m] */
function signedSideways(t: TruthEdge, r: RoofEdge): number {
  const dx = t.to[0] - t.from[0];
  const dy = t.to[1] - t.from[1];
  const x = (r.from[0] + r.to[0]) / 2 - t.from[0];
  const y = (r.from[1] + r.to[1]) / 2 - t.from[1];
  return (dx * y - dy * x) / Math.hypot(dx, dy);
}

function cover(truths: readonly TruthEdge[], found: readonly RoofEdge[]): Score['edgeCover'] {
  const total = (list: readonly { from: Vector3; to: Vector3 }[]): number => list.reduce((sum, e) => sum + length(subtract(e.to, e.from)), 0);
  return {
    truthM: total(truths), truthFoundM: coveredLength(truths, found), recordM: total(found), recordRightM: coveredLength(found, truths),
  };
}

function coveredLength(of: readonly { from: Vector3; to: Vector3 }[], by: readonly { from: Vector3; to: Vector3 }[]): number {
  let covered = 0;
  for (const e of of) {
    const size = length(subtract(e.to, e.from));
    const count = Math.max(1, Math.round(size / COVER_STEP));
    for (let k = 0; k < count; k++) {
      const share = (k + 0.5) / count;
      const p: Vector3 = [
        e.from[0] + (e.to[0] - e.from[0]) * share, e.from[1] + (e.to[1] - e.from[1]) * share, e.from[2] + (e.to[2] - e.from[2]) * share,
      ];
      if (by.some((b) => distanceToSegment3(p, b.from, b.to) < COVER_DISTANCE)) covered += size / count;
    }
  }
  return covered;
}
