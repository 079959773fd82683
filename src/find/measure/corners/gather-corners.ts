import type { Vector2 } from '../../../geometry/vector.ts';
import { commonCorner } from './common-corner.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { pieceLength, type SolvedCorners } from './solve-corners.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';
import { joinVertices } from '../borders/tidy-pieces.ts';

/** A piece longer than this is an edge of the roof whatever the scatter of the lines about it. [m] */
const LONGEST = 1.5;
const MOST_ROUNDS = 200;
/** What meets at a corner is this much longer than a piece that may be taken out there: else it is a side of something small. */
const MUCH_LONGER = 4;

/**
 * Takes out short pieces between corners that the lines around them cannot tell apart: valleys of a flat roof that miss
 * their drain, or the corner of the roof they run to, by less than their own uncertainty. Each such corner is tested by
 * chi-square: the planes and lines of both ends must pass one position within what their points leave open.
 *
 * @param solve  Solves the corners anew after each piece taken out.
 * @returns How many were taken out.
 */
export function gatherCorners(map: RoofMap, fits: readonly FaceFit[], solve: () => SolvedCorners): number {
  let gathered = 0;
  let solved = solve();
  const refused = new Set<number>();
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const shortest = shortestPiece(map, solved, refused);
    if (shortest < 0) break;
    const piece = map.pieces[shortest]!;
    const [a, b] = [solved.standsFor[piece.from]!, solved.standsFor[piece.to]!];
    const around = map.pieces.filter((other, i) => i !== shortest && !solved.vanished[i] && touches(other, solved, a, b));
    if (!isBetweenLong(around, solved, a, b)) {
      refused.add(shortest);
      continue;
    }
    const middle: Vector2 = [0, 1].map((i) => (solved.positions[a]![i]! + solved.positions[b]![i]!) / 2) as [number, number];
    const corner = commonCorner(around, fits, middle);
    if (!corner) {
      refused.add(shortest);
      continue;
    }
    piece.gone = true;
    joinVertices(map, piece.from, piece.to, corner);
    gathered++;
    solved = solve();
  }
  return gathered + gatherClusters(map, fits, solve);
}

/** Borders at a cluster of corners are this much longer than the cluster is wide. */
const WIDER = 2;

/**
 * Where three or four falls end at one place of a wall, labels may leave several short borders between them: taken out together
 * when all that leads there shares one corner.
 */
function gatherClusters(map: RoofMap, fits: readonly FaceFit[], solve: () => SolvedCorners): number {
  let gathered = 0;
  let solved = solve();
  for (const cluster of clustersOf(map, solved)) {
    const vertices = new Set(cluster.flatMap((i) => [solved.standsFor[map.pieces[i]!.from]!, solved.standsFor[map.pieces[i]!.to]!]));
    const places = [...vertices].map((v) => solved.positions[v]!);
    const width = Math.max(...places.flatMap((p) => places.map((q) => Math.hypot(p[0] - q[0], p[1] - q[1]))));
    const around = map.pieces.filter((piece, i) => !solved.vanished[i] && !piece.gone && !cluster.includes(i) && [piece.from, piece.to].some((v) => vertices.has(solved.standsFor[v]!)));
    const long = around.filter((piece) => pieceLength(piece, solved.positions) >= WIDER * width);
    if (long.length < 3 || long.length < around.length || !long.some(({ meets }) => meets)) continue;
    const middle: Vector2 = [0, 1].map((axis) => places.reduce((sum, p) => sum + p[axis]! / places.length, 0)) as [number, number];
    const corner = commonCorner(around, fits, middle);
    if (!corner) continue;
    for (const i of cluster) {
      const piece = map.pieces[i]!;
      piece.gone = true;
      joinVertices(map, piece.from, piece.to, corner);
    }
    gathered += cluster.length;
    solved = solve();
  }
  return gathered;
}

/** Short borders of two faces that hang together, two or more. */
function clustersOf(map: RoofMap, { vanished, standsFor, positions }: SolvedCorners): number[][] {
  const short = map.pieces.flatMap((piece, i) => (!vanished[i] && !piece.gone && !piece.drawn && piece.left !== 0 && piece.right !== 0 && pieceLength(piece, positions) < LONGEST ? [i] : []));
  let clusters: number[][] = [];
  const ends = (i: number): number[] => [standsFor[map.pieces[i]!.from]!, standsFor[map.pieces[i]!.to]!];
  for (const i of short) {
    const touched = clusters.filter((cluster) => cluster.some((j) => ends(j).some((v) => ends(i).includes(v))));
    clusters = [...clusters.filter((cluster) => !touched.includes(cluster)), [...touched.flat(), i]];
  }
  return clusters.filter(({ length }) => length > 1);
}

/** True when much longer pieces hold both ends, three or more in all, one of them an intersection of planes. */
function isBetweenLong(around: readonly Piece[], solved: SolvedCorners, a: number, b: number): boolean {
  const size = ({ from, to }: Pick<Piece, 'from' | 'to'>): number =>
    Math.hypot(solved.positions[to]![0] - solved.positions[from]![0], solved.positions[to]![1] - solved.positions[from]![1]);
  const long = around.filter((other) => size(other) >= MUCH_LONGER * size({ from: a, to: b }));
  return long.length >= 3 && long.some(({ meets }) => meets) && [a, b].every((end) => long.some((other) => touches(other, solved, end, end)));
}

function touches(piece: Piece, { standsFor }: SolvedCorners, a: number, b: number): boolean {
  return [piece.from, piece.to].some((v) => standsFor[v] === a || standsFor[v] === b);
}

function shortestPiece(map: RoofMap, { vanished, standsFor, positions }: SolvedCorners, refused: ReadonlySet<number>): number {
  let [best, least] = [-1, LONGEST];
  map.pieces.forEach((piece, i) => {
    if (vanished[i] || refused.has(i)) return;
    const [a, b] = [standsFor[piece.from]!, standsFor[piece.to]!];
    if (a === b) return;
    const size = Math.hypot(positions[b]![0] - positions[a]![0], positions[b]![1] - positions[a]![1]);
    if (size < least) [best, least] = [i, size];
  });
  return best;
}
