import { alongLine, besideLine } from '../../geometry/plan-line.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import { addAt, decompose, emptyRows, solveDecomposed, type RowsFromFirst } from '../../geometry/solve-symmetric.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { Piece, RoofMap } from './split-arcs.ts';

/** Corners of a building adjusted together, with what each may be off by. */
export interface AdjustedCorners {
  /** Position of every vertex of the map. Local frame. [m] */
  readonly positions: readonly Vector2[];
  /** One sigma of a weighted sum of coordinates: what the sum of `weights · positions` may be off by. [m times the weights] */
  readonly sigmaOf: (weights: readonly CornerWeight[]) => number;
}

/** Share of a vertex's x and y in a number. */
export interface CornerWeight {
  readonly vertex: number;
  readonly x: number;
  readonly y: number;
}

/** How well the raster alone places a corner that no lines cross at. [cells] */
const RASTER_SIGMA = 2.5;
/** Lines whose adjustment exceeds this many of their sigmas pull less. */
const PULL_SIGMAS = 2.5;
const ROUNDS = 4;
/** A corner moved farther than this by the adjustment stays where it was. [cells] */
const FARTHEST = 12;
/** Sigmas below these are not believed. [m, rad] */
const LEAST_SIGMA = 5e-4;
const LEAST_SIGMA_ANGLE = 2e-5;
const SHORTEST = 1e-3;

/**
 * Least squares over all corners at once: each piece's line was seen with a sideways and an angular error of known size,
 * and runs through the corners at its ends. So a valley that is known to some decimetres only, but starts at a corner known
 * to a centimetre, turns about that corner; and numbers made of several corners (lengths, areas) get the error they share.
 */
export function adjustCorners(map: RoofMap, solved: SolvedCorners, step: number): AdjustedCorners {
  const { standsFor } = solved;
  const { numberOf, first, live } = network(map, solved);
  const start = [...numberOf.keys()].map((v) => solved.positions[v]!);
  let at = start.map((p): Vector2 => [p[0], p[1]]);
  const pull = live.map(() => 1);
  let factor = emptyRows(new Int32Array(0));
  for (let round = 0; round < ROUNDS; round++) {
    const system = emptyRows(first);
    const right = new Float64Array(first.length);
    const prior = 1 / (RASTER_SIGMA * step) ** 2;
    for (let i = 0; i < first.length; i++) {
      addAt(system, i, i, prior);
      right[i] = prior * (start[i >> 1]![i & 1]! - at[i >> 1]![i & 1]!);
    }
    live.forEach(({ piece, a, b }, i) => addPiece(system, right, piece, [a, b], at, pull[i]!));
    factor = decompose(system);
    const change = solveDecomposed(factor, right);
    at = at.map((p, v): Vector2 => [p[0] + change[2 * v]!, p[1] + change[2 * v + 1]!]);
    live.forEach(({ piece, a, b }, i) => {
      const misfit = Math.sqrt(misfitOf(piece, at[a]!, at[b]!));
      pull[i] = misfit > PULL_SIGMAS ? (PULL_SIGMAS / misfit) ** 2 : 1;
    });
  }
  at = at.map((p, v): Vector2 => (Math.hypot(p[0] - start[v]![0], p[1] - start[v]![1]) > FARTHEST * step ? start[v]! : p));
  const positions = map.vertices.map((_, v) => at[numberOf.get(standsFor[v]!) ?? -1] ?? solved.positions[v]!);
  const sigmaOf = (weights: readonly CornerWeight[]): number => {
    const vector = new Float64Array(first.length);
    for (const { vertex, x, y } of weights) {
      const v = numberOf.get(standsFor[vertex]!)!;
      vector[2 * v]! += x;
      vector[2 * v + 1]! += y;
    }
    const moved = solveDecomposed(factor, vector);
    return Math.sqrt(Math.max(0, vector.reduce((sum, w, i) => sum + w * moved[i]!, 0)));
  };
  return { positions, sigmaOf };
}

interface Network {
  /** Number of each vertex that stands for itself, neighbours close to one another. */
  readonly numberOf: ReadonlyMap<number, number>;
  /** First coordinate that shares a piece with each coordinate. */
  readonly first: Int32Array;
  readonly live: readonly { readonly piece: Piece; readonly a: number; readonly b: number }[];
}

function network(map: RoofMap, { standsFor, vanished }: SolvedCorners): Network {
  const pieces = map.pieces.filter((piece, i) => !vanished[i] && !piece.gone);
  const beside = new Map<number, number[]>();
  for (const { from, to } of pieces) {
    const [a, b] = [standsFor[from]!, standsFor[to]!];
    beside.set(a, [...(beside.get(a) ?? []), b]);
    beside.set(b, [...(beside.get(b) ?? []), a]);
  }
  // Ring by ring from one vertex of each connected part, so that neighbours get numbers close to one another.
  const numberOf = new Map<number, number>();
  for (const seed of beside.keys()) {
    if (numberOf.has(seed)) continue;
    numberOf.set(seed, numberOf.size);
    const queue = [seed];
    for (let i = 0; i < queue.length; i++) {
      for (const next of beside.get(queue[i]!)!) {
        if (numberOf.has(next)) continue;
        numberOf.set(next, numberOf.size);
        queue.push(next);
      }
    }
  }
  const first = new Int32Array(2 * numberOf.size);
  for (const [v, number] of numberOf) {
    const lowest = beside.get(v)!.reduce((least, next) => Math.min(least, numberOf.get(next)!), number);
    first[2 * number] = first[2 * number + 1] = 2 * lowest;
  }
  return { numberOf, first, live: pieces.map((piece) => ({ piece, a: numberOf.get(standsFor[piece.from]!)!, b: numberOf.get(standsFor[piece.to]!)! })) };
}

/** Precision of the two ends' distances beside the line: e(t) = offset + turn t, both seen with known sigma. */
function endPrecision({ line, sigma, sigmaAngle }: Piece, a: Vector2, b: Vector2): { aa: number; ab: number; bb: number } {
  const [ta, tb] = [alongLine(line, a), alongLine(line, b)];
  const [p, q] = [1 / Math.max(LEAST_SIGMA, sigma) ** 2, 1 / Math.max(LEAST_SIGMA_ANGLE, sigmaAngle) ** 2];
  const span = tb - ta;
  if (Math.abs(span) < SHORTEST) return { aa: p / 2, ab: 0, bb: p / 2 };
  const scale = 1 / (span * span);
  return { aa: scale * (p * tb * tb + q), ab: scale * (-p * ta * tb - q), bb: scale * (p * ta * ta + q) };
}

function misfitOf(piece: Piece, a: Vector2, b: Vector2): number {
  const { aa, ab, bb } = endPrecision(piece, a, b);
  const [ea, eb] = [besideLine(piece.line, a), besideLine(piece.line, b)];
  return aa * ea * ea + 2 * ab * ea * eb + bb * eb * eb;
}

function addPiece(system: RowsFromFirst, right: Float64Array, piece: Piece, ends: readonly [number, number], at: readonly Vector2[], pull: number): void {
  const [p, q] = [at[ends[0]]!, at[ends[1]]!];
  const { aa, ab, bb } = endPrecision(piece, p, q);
  const normal = [-piece.line.direction[1], piece.line.direction[0]];
  const beside = [besideLine(piece.line, p), besideLine(piece.line, q)];
  const weights = [[aa, ab], [ab, bb]];
  for (let i = 0; i < 2; i++) {
    const force = -pull * (weights[i]![0]! * beside[0]! + weights[i]![1]! * beside[1]!);
    for (let k = 0; k < 2; k++) {
      const row = 2 * ends[i]! + k;
      right[row]! += force * normal[k]!;
      for (let j = 0; j < 2; j++) {
        for (let l = 0; l < 2; l++) {
          const column = 2 * ends[j]! + l;
          if (column <= row) addAt(system, row, column, pull * weights[i]![j]! * normal[k]! * normal[l]!);
        }
      }
    }
  }
}
