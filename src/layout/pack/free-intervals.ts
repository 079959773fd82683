import { RIM_CLEARANCE } from './pack-types.ts';
import type { Region } from '../../geometry/region.ts';

/** Straight pieces of a region's rim: x1, y1, x2, y2 a piece, in ring direction. */
export type RimPieces = Float64Array;

export function rimPieces(region: Region): RimPieces {
  let count = 0;
  for (const ring of region) count += ring.length;
  const pieces = new Float64Array(count * 4);
  let at = 0;
  for (const ring of region) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      pieces[at++] = ring[j]![0];
      pieces[at++] = ring[j]![1];
      pieces[at++] = ring[i]![0];
      pieces[at++] = ring[i]![1];
    }
  }
  return pieces;
}

/** The same rim with x and y exchanged. It turns the other way round, so the pieces are reversed as well. */
export function exchangeAxes(pieces: RimPieces): RimPieces {
  const exchanged = new Float64Array(pieces.length);
  for (let i = 0; i < pieces.length; i += 4) {
    exchanged[i] = pieces[i + 3]!;
    exchanged[i + 1] = pieces[i + 2]!;
    exchanged[i + 2] = pieces[i + 1]!;
    exchanged[i + 3] = pieces[i]!;
  }
  return exchanged;
}

/**
 * Makes a function that finds where a box of a given depth is free: pairs from, to along x, in rising order, of the
 * stretches at least `length` long in which the whole vertical stroke from `low` to `high` is free. Exact: a piece of rim
 * forbids exactly the x it covers inside the band, and between forbidden stretches nothing changes, so one test decides.
 * `RIM_CLEARANCE` is kept from the rim on every side.
 *
 * @returns The pairs stand at the front of the returned array; their number of values is returned by `count`. The array is
 *   used again by the next call.
 */
export function freeIntervalFinder(pieces: RimPieces): (low: number, high: number, length: number) => { found: Float64Array; count: number } {
  const most = pieces.length / 4;
  const from = new Float64Array(most);
  const to = new Float64Array(most);
  const answer = { found: new Float64Array(2 * most + 2), count: 0 };
  return (low, high, length) => {
    const forbidden = forbiddenStretches(pieces, low - RIM_CLEARANCE, high + RIM_CLEARANCE, from, to);
    const middle = (low + high) / 2;
    answer.count = 0;
    let reached = Infinity;
    for (let k = 0; k < forbidden; k++) {
      if (from[k]! - reached >= length && isInside(pieces, (from[k]! + reached) / 2, middle)) {
        answer.found[answer.count++] = reached;
        answer.found[answer.count++] = from[k]!;
      }
      if (k === 0 || to[k]! > reached) reached = to[k]!;
    }
    return answer;
  };
}

/** Stretches of x that rim pieces cover inside a band, in order of their start; returns how many. */
function forbiddenStretches(pieces: RimPieces, bottom: number, top: number, from: Float64Array, to: Float64Array): number {
  let count = 0;
  for (let i = 0; i < pieces.length; i += 4) {
    const y1 = pieces[i + 1]!;
    const y2 = pieces[i + 3]!;
    if ((y1 <= bottom && y2 <= bottom) || (y1 >= top && y2 >= top)) continue;
    let start = pieces[i]!;
    let end = pieces[i + 2]!;
    if (y1 !== y2 && (y1 < bottom || y1 > top || y2 < bottom || y2 > top)) {
      const x1 = start;
      const perY = (end - start) / (y2 - y1);
      if (y1 < bottom) start = x1 + (bottom - y1) * perY;
      else if (y1 > top) start = x1 + (top - y1) * perY;
      if (y2 < bottom) end = x1 + (bottom - y1) * perY;
      else if (y2 > top) end = x1 + (top - y1) * perY;
    }
    if (start > end) [start, end] = [end, start];
    start -= RIM_CLEARANCE;
    // Insertion keeps the few stretches of a band in order without allocating.
    let k = count++;
    for (; k > 0 && from[k - 1]! > start; k--) {
      from[k] = from[k - 1]!;
      to[k] = to[k - 1]!;
    }
    from[k] = start;
    to[k] = end + RIM_CLEARANCE;
  }
  return count;
}

function isInside(pieces: RimPieces, x: number, y: number): boolean {
  let winding = 0;
  for (let i = 0; i < pieces.length; i += 4) {
    const y1 = pieces[i + 1]!;
    const y2 = pieces[i + 3]!;
    if (y1 > y === y2 > y) continue;
    const x1 = pieces[i]!;
    if (x < x1 + ((y - y1) / (y2 - y1)) * (pieces[i + 2]! - x1)) winding += y2 > y1 ? 1 : -1;
  }
  return winding > 0;
}
