import { cos } from '../../../geometry/same-math.ts';
import type { Vector2, Vector3 } from '../../../geometry/vector.ts';
import { lookBeyond, type TopOf } from './beyond-edge.ts';
import { DRAWN_BORDER, freeKind, sharedKind, type KindAndReason } from './edge-kind.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import { sameHeight } from '../corners/common-heights.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { RoofMap } from '../borders/split-arcs.ts';

/** An edge of the record, still by faces and pieces. */
export interface FoundEdge extends KindAndReason {
  /** Its piece, the first one where it runs along several. */
  readonly piece: number;
  /** Vertices at its ends. */
  readonly vertices: readonly [number, number];
  readonly faces: readonly number[];
  readonly from: Vector3;
  readonly to: Vector3;
  /** True when the edge is the intersection of its two planes. */
  readonly meets: boolean;
}

/** Kinds and ends of all edges. Where one plane ends above another the line is two edges, one on each. */
export function roofEdges(map: RoofMap, solved: SolvedCorners, fits: readonly FaceFit[], raster: RoofRaster, topOf: TopOf): FoundEdge[] {
  const edges: FoundEdge[] = [];
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i]) return;
    const from = solved.positions[piece.from]!;
    const to = solved.positions[piece.to]!;
    const ends = [solved.standsFor[piece.from]!, solved.standsFor[piece.to]!] as const;
    const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (!(size > 0)) return;
    const direction: Vector2 = [(to[0] - from[0]) / size, (to[1] - from[1]) / size];
    const left = piece.left ? fits[piece.left - 1]! : null;
    const right = piece.right ? fits[piece.right - 1]! : null;
    const at = (fit: FaceFit, p: Vector2): Vector3 => [p[0], p[1], elevationAt(fit, p)];
    const free = (fit: FaceFit, face: number, forward: boolean): FoundEdge => {
      const sense = forward ? direction : ([-direction[0], -direction[1]] as const);
      const outward: Vector2 = [sense[1], -sense[0]];
      const beyond = lookBeyond(raster, topOf, fit, from, to, outward, fit.noise);
      const [a, b] = forward ? [from, to] : [to, from];
      return { piece: i, vertices: forward ? ends : [ends[1], ends[0]], faces: [face], from: at(fit, a), to: at(fit, b), meets: false, ...freeKind(fit, sense, beyond) };
    };
    if (left && right) {
      const middle: Vector2 = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
      const step = elevationAt(left, middle) - elevationAt(right, middle);
      if (piece.meets || Math.abs(step) < sameHeight(left, right)) {
        const mean = (p: Vector2): Vector3 => [p[0], p[1], (elevationAt(left, p) + elevationAt(right, p)) / 2];
        edges.push({ piece: i, vertices: ends, faces: [piece.left, piece.right], from: mean(from), to: mean(to), meets: piece.meets, ...(piece.drawn ? { kind: 'unknown' as const, note: DRAWN_BORDER } : sharedKind(left, right, direction)) });
        return;
      }
      // The lower plane stops at the wall under the higher one.
      const leftIsHigher = step > 0;
      const higher = leftIsHigher ? free(left, piece.left, true) : free(right, piece.right, false);
      edges.push(higher);
      const lower = leftIsHigher ? right : left;
      edges.push({
        piece: i, vertices: leftIsHigher ? [ends[1], ends[0]] : ends, faces: [leftIsHigher ? piece.right : piece.left], from: at(lower, leftIsHigher ? to : from), to: at(lower, leftIsHigher ? from : to),
        meets: false, kind: 'abutment',
      });
      return;
    }
    if (left) edges.push(free(left, piece.left, true));
    else if (right) edges.push(free(right, piece.right, false));
  });
  return joinInLine(edges, map);
}

/** Edges of one plane and kind that run on in one line across a vertex where only what is beyond them changes. */
function joinInLine(edges: readonly FoundEdge[], map: RoofMap): FoundEdge[] {
  const joined = [...edges];
  for (let i = 0; i < joined.length; ) {
    const edge = joined[i]!;
    const next = joined.findIndex((other, j) => j !== i && runsOn(edge, other, map));
    if (next < 0) {
      i++;
      continue;
    }
    const other = joined[next]!;
    joined[i] = { ...edge, to: other.to, vertices: [edge.vertices[0], other.vertices[1]] };
    joined.splice(next, 1);
    if (next < i) i--;
  }
  return joined;
}

/** Turn up to which a line runs on: so much [rad], 2 degrees, or that many of its sigmas, and never more than 10 degrees. */
const RUNS_ON = 0.035;
const RUNS_ON_SIGMAS = 2.5;
const NEVER_ON = 0.175;

/**
 * The foot of a dormer's front is one line below both of its slopes, each of which gives but a few bins to count: their
 * directions differ by what they scatter.
 */
function runsOn(a: FoundEdge, b: FoundEdge, { pieces }: RoofMap): boolean {
  // A parapet is followed piece by piece.
  if (a.faces.length !== 1 || b.faces.length !== 1 || a.faces[0] !== b.faces[0] || a.kind !== b.kind || a.kind === 'parapet') return false;
  if (a.vertices[1] !== b.vertices[0] || a.vertices[0] === b.vertices[1]) return false;
  const [ax, ay, bx, by] = [a.to[0] - a.from[0], a.to[1] - a.from[1], b.to[0] - b.from[0], b.to[1] - b.from[1]];
  const scatter = a.kind === 'abutment' ? RUNS_ON_SIGMAS * Math.hypot(pieces[a.piece]!.sigmaAngle, pieces[b.piece]!.sigmaAngle) : 0;
  return ax * bx + ay * by > cos(Math.min(NEVER_ON, Math.max(RUNS_ON, scatter))) * Math.hypot(ax, ay) * Math.hypot(bx, by);
}
