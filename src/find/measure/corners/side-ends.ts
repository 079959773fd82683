import { alongLine, besideLine, crossingOf } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { Piece } from '../borders/split-arcs.ts';
import type { NetworkPiece } from './corner-network.ts';

/** Lines whose adjustment exceeds this many of their sigmas pull less. */
export const PULL_SIGMAS = 2.5;
/** Sigmas below these are not believed. [m, rad] */
const LEAST_SIGMA = 5e-4;
const LEAST_SIGMA_ANGLE = 2e-5;
const SHORTEST = 1e-3;

/** Place of a corner among the unknowns. Local frame. [m] */
export const placeAt = (values: Float64Array, offset: number): Vector2 => [values[offset]!, values[offset + 1]!];

/** Weights of a side's distances from its line at its two ends. [1/m²] */
export interface EndPrecision {
  readonly aa: number;
  readonly ab: number;
  readonly bb: number;
}

/** What remains to say of one end when nothing is said of the other. */
export const withoutEnd = ({ aa, ab, bb }: EndPrecision, end: 'a' | 'b'): EndPrecision =>
  end === 'a' ? { aa: 0, ab: 0, bb: bb - (ab * ab) / aa } : { aa: aa - (ab * ab) / bb, ab: 0, bb: 0 };

/** Precision of the two ends' distances beside the line: e(t) = offset + turn t, both seen with known sigma. */
export function endPrecision({ line, sigma, sigmaAngle }: Piece, a: Vector2, b: Vector2): EndPrecision {
  const [ta, tb] = [alongLine(line, a), alongLine(line, b)];
  const [p, q] = [1 / Math.max(LEAST_SIGMA, sigma) ** 2, 1 / Math.max(LEAST_SIGMA_ANGLE, sigmaAngle) ** 2];
  const span = tb - ta;
  if (Math.abs(span) < SHORTEST) return { aa: p / 2, ab: 0, bb: p / 2 };
  const scale = 1 / (span * span);
  return { aa: scale * (p * tb * tb + q), ab: scale * (-p * ta * tb - q), bb: scale * (p * ta * ta + q) };
}

/** Squared distance of a side's two ends from its line, in their sigmas. */
export function misfitOf(piece: Piece, { aa, ab, bb }: EndPrecision, a: Vector2, b: Vector2): number {
  const [ea, eb] = [besideLine(piece.line, a), besideLine(piece.line, b)];
  return aa * ea * ea + 2 * ab * ea * eb + bb * eb * eb;
}

/**
 * The end of a side that a border drawn by hand passes by: it crosses the neighbouring side so near their corner that the corner
 * is lost in the raster, and all three seem to meet where it crosses. There the side does not end on its own line, and must not
 * turn to do so.
 */
export function looseEnd(side: NetworkPiece, live: readonly NetworkPiece[], at: Float64Array): 'a' | 'b' | null {
  const { piece, a, b, planes } = side;
  if (planes || piece.drawn) return null;
  const precision = endPrecision(piece, placeAt(at, a), placeAt(at, b));
  const isPassedBy = (end: number, far: number, alone: number): boolean => {
    const others = live.filter((other) => other !== side && !other.planes && (other.a === end || other.b === end));
    const [drawn, next] = [others.find((other) => other.piece.drawn), others.find((other) => !other.piece.drawn)];
    if (!drawn || !next) return false;
    const [corner, passing] = [crossingOf(piece.line, next.piece.line), crossingOf(piece.line, drawn.piece.line)];
    if (!corner || !passing) return false;
    const outwards = Math.sign(alongLine(piece.line, placeAt(at, end)) - alongLine(piece.line, placeAt(at, far)));
    return outwards * (alongLine(piece.line, passing) - alongLine(piece.line, corner)) * Math.sqrt(alone) > PULL_SIGMAS;
  };
  if (isPassedBy(a, b, withoutEnd(precision, 'b').aa)) return 'a';
  return isPassedBy(b, a, withoutEnd(precision, 'a').bb) ? 'b' : null;
}
