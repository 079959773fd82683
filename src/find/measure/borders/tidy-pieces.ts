import { alongLine, besideLine, fitLine, onLine, sumPositions } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { solveCorner } from '../corners/solve-corners.ts';
import type { Piece, RoofMap } from './split-arcs.ts';
import { acos } from '../../../geometry/same-math.ts';

/** Pieces up to this long may be what a raster makes of a corner. [cells], and in coarse rasters [m] */
const CHOP_CELLS = 8;
const CHOP_LENGTH = 0.9;
/** A corner cut by so few cells is the raster's, however coarse. [cells] */
const LEAST_CHOP_CELLS = 2;
/** The corner that the neighbours make must lie this near the piece. [cells], in coarse rasters [m], and there at least [cells] */
const CORNER_CELLS = 3.5;
const CORNER_LENGTH = 0.35;
const LEAST_CORNER_CELLS = 1.5;
/** Neighbours in line within this many of their sigmas are one edge. */
const SAME_SIGMAS = 3;
/** And within these at least: a raster cannot tell less. [cells, rad] */
const SAME_CELLS = 0.6;
const SAME_ANGLE = 0.03;

/** Takes out short pieces that only cut a corner off: their neighbours' lines meet right there. */
export function dropChoppedCorners(map: RoofMap, step: number): void {
  const chopCells = Math.max(LEAST_CHOP_CELLS, Math.min(CHOP_CELLS, CHOP_LENGTH / step));
  const order = map.pieces
    .map((piece, i) => ({ piece, i }))
    .filter(({ piece }) => !piece.meets && !piece.gone && piece.cells <= chopCells && piece.from !== piece.to)
    .sort((a, b) => a.piece.cells - b.piece.cells || a.i - b.i);
  for (const { piece } of order) {
    const around = map.pieces.filter((other) => other !== piece && !other.gone && [other.from, other.to].some((v) => v === piece.from || v === piece.to));
    // A drawn line ends where it was drawn to, also just beside a corner.
    if (around.some(({ drawn }) => drawn)) continue;
    // Something longer must hold the corner on both sides.
    const holds = (v: number): boolean => around.some((other) => (other.from === v || other.to === v) && other.cells > piece.cells);
    if (!holds(piece.from) || !holds(piece.to)) continue;
    const [a, b] = [map.vertices[piece.from]!.at, map.vertices[piece.to]!.at];
    const guess: Vector2 = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    // Other short pieces at the corner are what the raster made of it too.
    const holding = around.filter((other) => other.meets || other.cells > chopCells);
    const corner = solveCorner(guess, holding, step);
    const limit = Math.max(LEAST_CORNER_CELLS * step, Math.min(CORNER_CELLS * step, CORNER_LENGTH));
    const misses = holding.length < 2 || holding.some(({ line }) => Math.abs(besideLine(line, corner)) > limit / 2);
    if (misses || Math.hypot(corner[0] - guess[0], corner[1] - guess[1]) > limit + (piece.cells * step) / 2) continue;
    piece.gone = true;
    joinVertices(map, piece.from, piece.to, corner);
  }
}

export function joinVertices(map: RoofMap, keep: number, drop: number, at: Vector2): void {
  map.vertices[keep]!.at = at;
  for (const other of map.pieces) {
    if (other.from === drop) other.from = keep;
    if (other.to === drop) other.to = keep;
  }
}

/**
 * Joins neighbouring pieces of the same faces that run on in one line within their uncertainty.
 *
 * @returns How many were joined.
 */
export function joinPiecesInLine(map: RoofMap, step: number): number {
  let joined = 0;
  const at = new Map<number, Piece[]>();
  const live = map.pieces.filter((piece) => !piece.gone);
  for (const piece of live) for (const v of [piece.from, piece.to]) at.set(v, [...(at.get(v) ?? []), piece]);
  for (const [vertex, pieces] of at) {
    if (pieces.length !== 2) continue;
    const [first, second] = pieces[0]!.to === vertex ? [pieces[0]!, pieces[1]!] : [pieces[1]!, pieces[0]!];
    if (first.gone || second.gone || first === second || first.to !== vertex || second.from !== vertex) continue;
    if (first.meets || second.meets || first.left !== second.left || first.right !== second.right) continue;
    if (!inLine(first, second, step)) continue;
    absorb(first, second, step);
    // The far vertex of what was absorbed now belongs to the piece that absorbed it.
    at.set(second.to, (at.get(second.to) ?? []).map((piece) => (piece === second ? first : piece)));
    joined++;
  }
  return joined;
}

function inLine(a: Piece, b: Piece, step: number): boolean {
  const cosine = a.line.direction[0] * b.line.direction[0] + a.line.direction[1] * b.line.direction[1];
  if (cosine < 0.9) return false;
  const turn = acos(Math.min(1, cosine));
  if (turn > Math.max(SAME_ANGLE, SAME_SIGMAS * Math.hypot(a.sigmaAngle, b.sigmaAngle))) return false;
  const reach = alongLine(a.line, b.line.at);
  const offset = Math.abs(besideLine(a.line, b.line.at));
  return offset < Math.max(SAME_CELLS * step, SAME_SIGMAS * Math.hypot(a.sigma, b.sigma, a.sigmaAngle * reach));
}

/** The line through both pieces' middles and ends, weighted by their lengths. */
function absorb(a: Piece, b: Piece, step: number): void {
  const positions = [a, b].flatMap(({ line, cells }) => {
    const count = Math.max(2, Math.round(cells / 2));
    return Array.from({ length: count }, (_, i) => onLine(line, ((i + 0.5) / count - 0.5) * cells * step * 0.9));
  });
  a.line = fitLine(sumPositions(positions), positions, 0, positions.length);
  a.to = b.to;
  a.sigma = 1 / Math.hypot(1 / a.sigma, 1 / b.sigma);
  a.sigmaAngle = Math.min(a.sigmaAngle, b.sigmaAngle, Math.hypot(a.sigma, b.sigma) / Math.max(step, 0.3 * (a.cells + b.cells) * step));
  a.cells += b.cells;
  b.gone = true;
}
