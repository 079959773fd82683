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
 * Where a whole vertical stroke from `low` to `high` is free: pairs from, to along x, in rising order. Exact: a piece of
 * rim forbids exactly the x it covers inside the band, and between forbidden stretches nothing changes, so one test
 * decides. Kept `RIM_CLEARANCE` from the rim on every side.
 */
export function freeIntervals(pieces: RimPieces, low: number, high: number): number[] {
  const bottom = low - RIM_CLEARANCE;
  const top = high + RIM_CLEARANCE;
  const middle = (low + high) / 2;
  const forbidden: [number, number][] = [];
  for (let i = 0; i < pieces.length; i += 4) {
    const x1 = pieces[i]!;
    const y1 = pieces[i + 1]!;
    const x2 = pieces[i + 2]!;
    const y2 = pieces[i + 3]!;
    if ((y1 <= bottom && y2 <= bottom) || (y1 >= top && y2 >= top)) continue;
    const [from, to] = clippedToBand(x1, y1, x2, y2, bottom, top);
    forbidden.push([from - RIM_CLEARANCE, to + RIM_CLEARANCE]);
  }
  forbidden.sort((a, b) => a[0] - b[0]);
  const free: number[] = [];
  let reached = -Infinity;
  for (const [from, to] of forbidden) {
    if (from > reached && reached > -Infinity && isInside(pieces, (from + reached) / 2, middle)) free.push(reached, from);
    if (to > reached) reached = to;
  }
  return free;
}

function clippedToBand(x1: number, y1: number, x2: number, y2: number, bottom: number, top: number): [number, number] {
  let from = x1;
  let to = x2;
  if (y1 !== y2) {
    const perY = (x2 - x1) / (y2 - y1);
    if (y1 < bottom) from = x1 + (bottom - y1) * perY;
    else if (y1 > top) from = x1 + (top - y1) * perY;
    if (y2 < bottom) to = x1 + (bottom - y1) * perY;
    else if (y2 > top) to = x1 + (top - y1) * perY;
  }
  return from < to ? [from, to] : [to, from];
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
