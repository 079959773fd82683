import { alongLine, besideLine, onLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';

/** Two intersection lines crossing more sharply than this fix a corner by themselves. [-] */
const LEAST_SINE = 0.05;
/** Free edges pull a corner along an intersection; the raster's own corner only where nothing else does. */
const RASTER_WEIGHT = 1e-3;
/** A corner farther than this from where the raster saw it comes of lines that run nearly alike. [raster cells] */
const FARTHEST_CORNER = 12;
/** Intersections known better than this hold a corner exactly. [m] */
const FIRM_SIGMA = 0.025;
/** Rounds of taking out pieces that vanish; each takes out at least one. */
const MOST_ROUNDS = 200;

export interface SolvedCorners {
  /** Position of every vertex; vertices joined by a vanished piece share theirs. */
  readonly positions: readonly Vector2[];
  /** Vertex that stands for each vertex. */
  readonly standsFor: Int32Array;
  /** Non-zero for pieces that vanished. */
  readonly vanished: Uint8Array;
}

/**
 * Corners where pieces cross: on intersections of planes exactly, on free edges by least squares. A piece that comes
 * out shorter than half a raster cell, or backwards, vanishes, and its ends become one corner of every face around.
 */
export function solveCorners(map: RoofMap, step: number): SolvedCorners {
  const count = map.vertices.length;
  const standsFor = Int32Array.from({ length: count }, (_, i) => i);
  const vanished = Uint8Array.from(map.pieces, (piece) => (piece.gone ? 1 : 0));
  const find = (v: number): number => {
    while (standsFor[v] !== v) v = standsFor[v]!;
    return v;
  };
  let positions: Vector2[] = [];
  for (let round = 0; round < MOST_ROUNDS; round++) {
    positions = solveAll(map, step, find, vanished);
    const worst = mostBackward(map, step, find, vanished, positions);
    if (worst < 0) break;
    vanished[worst] = 1;
    const { from, to } = map.pieces[worst]!;
    const [a, b] = [find(from), find(to)];
    standsFor[Math.max(a, b)] = Math.min(a, b);
  }
  for (let v = 0; v < count; v++) standsFor[v] = find(v);
  return { positions: positions.map((_, v) => positions[standsFor[v]!]!), standsFor, vanished };
}

function mostBackward(
  { pieces, vertices }: RoofMap,
  step: number,
  find: (v: number) => number,
  vanished: Uint8Array,
  positions: readonly Vector2[],
): number {
  let [worst, least] = [-1, 0.5 * step];
  pieces.forEach((piece, i) => {
    if (vanished[i]) return;
    const [a, b] = [find(piece.from), find(piece.to)];
    if (a === b) {
      // A closed piece is an island of one label: it stays until its face is judged.
      if (piece.from !== piece.to) [worst, least] = [i, -Infinity];
      return;
    }
    const [p, q] = [positions[a]!, positions[b]!];
    const [r, s] = [vertices[piece.from]!.at, vertices[piece.to]!.at];
    const along = Math.hypot(s[0] - r[0], s[1] - r[1]);
    const direction: Vector2 = along > 0 ? [(s[0] - r[0]) / along, (s[1] - r[1]) / along] : piece.line.direction;
    const size = (q[0] - p[0]) * direction[0] + (q[1] - p[1]) * direction[1];
    if (size < least) [worst, least] = [i, size];
  });
  return worst;
}

function solveAll(
  map: RoofMap,
  step: number,
  find: (v: number) => number,
  vanished: Uint8Array,
): Vector2[] {
  const around: number[][] = map.vertices.map(() => []);
  map.pieces.forEach(({ from, to }, i) => {
    if (vanished[i]) return;
    const [a, b] = [find(from), find(to)];
    around[a]!.push(i);
    if (b !== a) around[b]!.push(i);
  });
  const guess = clusterMeans(map, find);
  return map.vertices.map((_, v) => {
    if (find(v) !== v) return guess[find(v)]!;
    return solveCorner(guess[v]!, around[v]!.map((i) => map.pieces[i]!), step);
  });
}

function clusterMeans({ vertices }: RoofMap, find: (v: number) => number): Vector2[] {
  const sums = vertices.map(() => [0, 0, 0]);
  vertices.forEach(({ at }, v) => {
    const sum = sums[find(v)]!;
    sum[0]! += at[0];
    sum[1]! += at[1];
    sum[2]! += 1;
  });
  return sums.map(([x, y, n], v) => (n! > 0 ? [x! / n!, y! / n!] : vertices[v]!.at));
}

/**
 * Where the lines of pieces meet near a guess: intersections of planes exactly, free edges by weight. An intersection of
 * planes that nearly are one is a line like any other: it must not drag a well-known corner along with it, and the planes'
 * heights there differ by millimetres only.
 */
export function solveCorner(guess: Vector2, pieces: readonly Piece[], step: number): Vector2 {
  const meeting: PlanLine[] = [];
  const free: { line: PlanLine; weight: number }[] = [];
  for (const { meets, line, sigma, sigmaAngle } of pieces) {
    const scatter = Math.hypot(sigma, sigmaAngle * alongLine(line, guess));
    if (meets && scatter < FIRM_SIGMA) meeting.push(line);
    else free.push({ line, weight: 1 / Math.max(1e-4, meets ? scatter : sigma) ** 2 });
  }
  if (sharpest(meeting) > LEAST_SINE) {
    const exact = leastSquares(meeting.map((line) => ({ line, weight: 1 })), null, 0);
    // Lines that cross far away say nothing about this corner.
    if (exact && Math.hypot(exact[0] - guess[0], exact[1] - guess[1]) < FARTHEST_CORNER * step) return exact;
  }
  const prior = RASTER_WEIGHT / (step * step);
  if (meeting.length > 0) {
    // The line nearest to the guess carries the corner; others of the bundle run along it.
    const line = meeting.reduce((a, b) => (Math.abs(besideLine(b, guess)) < Math.abs(besideLine(a, guess)) ? b : a));
    const slid = slideAlong(line, guess, free, prior);
    const start = onLine(line, alongLine(line, guess));
    return Math.hypot(slid[0] - start[0], slid[1] - start[1]) < FARTHEST_CORNER * step ? slid : start;
  }
  const solved = leastSquares(free, guess, prior);
  return solved && Math.hypot(solved[0] - guess[0], solved[1] - guess[1]) < FARTHEST_CORNER * step ? solved : guess;
}

function sharpest(lines: readonly PlanLine[]): number {
  let best = 0;
  for (const a of lines) for (const b of lines) best = Math.max(best, Math.abs(a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0]));
  return best;
}

function slideAlong(line: PlanLine, guess: Vector2, free: readonly { line: PlanLine; weight: number }[], prior: number): Vector2 {
  const start = alongLine(line, guess);
  const origin = onLine(line, start);
  let [normal, right] = [prior, 0];
  for (const other of free) {
    const sine = other.line.direction[0] * line.direction[1] - other.line.direction[1] * line.direction[0];
    // Distance beside the other line grows by `sine` per metre along this one.
    normal += other.weight * sine * sine;
    right -= other.weight * sine * besideLine(other.line, origin);
  }
  return onLine(line, start + right / normal);
}

/** Position with the least weighted sum of squared distances to lines and, weakly, to a guess. */
function leastSquares(lines: readonly { line: PlanLine; weight: number }[], guess: Vector2 | null, prior: number): Vector2 | null {
  const near = guess ?? lines[0]!.line.at;
  let [xx, xy, yy, bx, by] = [prior, 0, prior, 0, 0];
  for (const { line, weight } of lines) {
    const [nx, ny] = [-line.direction[1], line.direction[0]];
    const away = besideLine(line, near);
    xx += weight * nx * nx;
    xy += weight * nx * ny;
    yy += weight * ny * ny;
    bx -= weight * nx * away;
    by -= weight * ny * away;
  }
  const determinant = xx * yy - xy * xy;
  if (!(determinant > 1e-12 * (xx + yy) ** 2)) return null;
  return [near[0] + (yy * bx - xy * by) / determinant, near[1] + (xx * by - xy * bx) / determinant];
}

export const pieceLength = ({ from, to }: Pick<Piece, 'from' | 'to'>, positions: readonly Vector2[]): number =>
  Math.hypot(positions[to]![0] - positions[from]![0], positions[to]![1] - positions[from]![1]);
