import type { Vector2 } from '../../../geometry/vector.ts';
import { heightVariance } from '../../../reading/plane-uncertainty.ts';
import { addAt, factorOf, inverseOf, wholeRows } from '../../../geometry/solve-symmetric.ts';
import type { CornerRule } from './corner-rules.ts';
import { meetShallowly, type FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';

/** A plane that is adjusted together with the corners. */
export interface NetworkPlane {
  readonly face: number;
  readonly fit: FaceFit;
  /** First of its three unknowns: change of height at the centroid and of both slopes. */
  readonly offset: number;
  /** Inverse of its covariance, row by row. */
  readonly precision: Float64Array;
}

export interface NetworkPiece {
  readonly piece: Piece;
  /** First of the two coordinates of its ends. */
  readonly a: number;
  readonly b: number;
  /** Planes that have one height at its ends; null where the piece is a line of its own. */
  readonly planes: readonly [NetworkPlane, NetworkPlane] | null;
}

/** Unknowns of a building's corners and of the planes of its decks, neighbours close to one another. */
export interface Network {
  /** Place of the coordinates of each vertex that stands for itself. */
  readonly offsetOf: ReadonlyMap<number, number>;
  readonly planes: readonly NetworkPlane[];
  /** First unknown that shares an observation with each. */
  readonly first: Int32Array;
  readonly live: readonly NetworkPiece[];
}

/** Points near a border that count for the wrong plane part two planes at their common corner by this share of the noise. */
const JOINT_SMEAR = 0.1;
/** Planes farther apart at a known corner, in sigmas of their own, do not meet there. */
const MISS_SIGMAS = 3.3;
/** Two sides of a rim in line leave open where along them a corner lies. [-] 10° */
const LEAST_SINE = 0.17;

/** Variance that heights of two planes at a common corner have beside those of their fits: what is left of wrong labels. [m²] */
export const jointVariance = (a: FaceFit, b: FaceFit): number => (JOINT_SMEAR * Math.max(a.noise, b.noise)) ** 2 + 1e-8;

/**
 * @param fits  Of every face. Borders of planes that meet below 6° are then seen through both planes instead of as lines: two
 * valleys with a plane in common err together. Without fits every piece is a line.
 */
export function cornerNetwork(map: RoofMap, solved: SolvedCorners, fits: readonly FaceFit[] | null, rules: readonly CornerRule[]): Network {
  const { standsFor, vanished } = solved;
  const pieces = map.pieces.filter((piece, i) => !vanished[i] && !piece.gone);
  const precisions = new Map<number, Float64Array>();
  const joined = new Set(fits ? pieces.filter((piece) => isJoint(piece, pieces, solved, fits, precisions)) : []);
  const beside = new Map<number, Set<number>>();
  const link = (nodes: readonly number[]): void => {
    for (const node of nodes) {
      const others = beside.get(node) ?? new Set();
      for (const other of nodes) if (other !== node) others.add(other);
      beside.set(node, others);
    }
  };
  for (const piece of pieces) {
    const ends = [standsFor[piece.from]!, standsFor[piece.to]!];
    link(ends);
    if (joined.has(piece)) for (const end of ends) link([end, nodeOfFace(piece.left), nodeOfFace(piece.right)]);
  }
  for (const { vertices } of rules) link(vertices);
  const { offsets, first } = layOut(beside);
  const planeOf = new Map<number, NetworkPlane>();
  for (const face of [...new Set([...joined].flatMap(({ left, right }) => [left, right]))].sort((a, b) => a - b)) {
    planeOf.set(face, { face, fit: fits![face - 1]!, offset: offsets.get(nodeOfFace(face))!, precision: precisions.get(face)! });
  }
  const live = pieces.map((piece): NetworkPiece => ({
    piece, a: offsets.get(standsFor[piece.from]!)!, b: offsets.get(standsFor[piece.to]!)!,
    planes: joined.has(piece) ? [planeOf.get(piece.left)!, planeOf.get(piece.right)!] : null,
  }));
  return { offsetOf: new Map([...offsets].filter(([node]) => node >= 0)), planes: [...planeOf.values()], first, live };
}

/** Nodes are vertices, and below zero faces. */
const nodeOfFace = (face: number): number => -face;

/** Places of the unknowns: ring by ring from one node of each connected part, so that neighbours get places close to one another. */
function layOut(beside: ReadonlyMap<number, ReadonlySet<number>>): { offsets: Map<number, number>; first: Int32Array } {
  const offsets = new Map<number, number>();
  let size = 0;
  const place = (node: number): void => {
    offsets.set(node, size);
    size += node < 0 ? 3 : 2;
  };
  for (const seed of beside.keys()) {
    if (offsets.has(seed)) continue;
    place(seed);
    const queue = [seed];
    for (let i = 0; i < queue.length; i++) {
      for (const next of beside.get(queue[i]!)!) {
        if (offsets.has(next)) continue;
        place(next);
        queue.push(next);
      }
    }
  }
  const first = new Int32Array(size);
  for (const [node, offset] of offsets) {
    let lowest = offset;
    for (const next of beside.get(node)!) lowest = Math.min(lowest, offsets.get(next)!);
    first.fill(lowest, offset, offset + (node < 0 ? 3 : 2));
  }
  return { offsets, first };
}

/** True for a border of two planes that meet below 6° and whose planes have one height at those of its ends that the rim fixes. */
function isJoint(piece: Piece, pieces: readonly Piece[], solved: SolvedCorners, fits: readonly FaceFit[], precisions: Map<number, Float64Array>): boolean {
  if (!piece.meets || piece.drawn) return false;
  const [a, b] = [fits[piece.left - 1]!, fits[piece.right - 1]!];
  if (!meetShallowly(a, b)) return false;
  for (const face of [piece.left, piece.right]) {
    if (precisions.has(face)) continue;
    const precision = precisionOf(fits[face - 1]!);
    if (!precision) return false;
    precisions.set(face, precision);
  }
  return [piece.from, piece.to].every((end) => {
    const vertex = solved.standsFor[end]!;
    if (!isRimCorner(vertex, pieces, solved)) return true;
    const at: Vector2 = solved.positions[vertex]!;
    const variance = heightVariance(a, at) + heightVariance(b, at) + jointVariance(a, b);
    return (elevationAt(a, at) - elevationAt(b, at)) ** 2 <= MISS_SIGMAS ** 2 * variance;
  });
}

/** Inverse of a fit's covariance; null where that is none. */
function precisionOf({ covariance }: FaceFit): Float64Array | null {
  const whole = wholeRows(3);
  for (let i = 0; i < 3; i++) for (let j = 0; j <= i; j++) addAt(whole, i, j, covariance[3 * i + j]!);
  const factor = factorOf(whole);
  return factor && inverseOf(factor);
}

/** True where two sides of the roof's rim cross. */
function isRimCorner(vertex: number, pieces: readonly Piece[], { standsFor }: SolvedCorners): boolean {
  const rims = pieces.filter(({ left, right, from, to }) => (left === 0 || right === 0) && (standsFor[from] === vertex || standsFor[to] === vertex));
  return rims.some(({ line: { direction: [ux, uy] } }) => rims.some(({ line: { direction: [vx, vy] } }) => Math.abs(ux * vy - uy * vx) > LEAST_SINE));
}
