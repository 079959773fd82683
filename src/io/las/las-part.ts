import type { ColourShift } from './decode-points.ts';
import type { ExtraField } from './extra-fields.ts';
import type { LasHeader } from './header.ts';
import type { Chunk } from './laz/chunk-table.ts';
import type { LazSettings } from './laz/settings.ts';

/** What every part of one file needs to be decoded. Plain data: it crosses threads. */
export interface LasFile {
  readonly header: LasHeader;
  /** null for a file that is not compressed. */
  readonly laz: LazSettings | null;
  readonly colourShift: ColourShift;
  readonly extraFields: readonly ExtraField[];
}

/** Private detail of a part: runs of bytes, one for a slice of plain records, several chunks of a compressed file. */
export interface LasPartDetail {
  readonly file: LasFile;
  readonly runs: readonly Chunk[];
}

/**
 * Points a part holds at most, one chunk of a compressed file at least: a message is worth its while and cancelling stays
 * quick, and what a thread needs while it reads a part, some 60 bytes a point, stays small beside the points kept.
 */
const POINTS_A_PART = 250_000;

/** Slices of plain records. */
export function planSlices(header: LasHeader, pointCount: number): Chunk[][] {
  const slices: Chunk[][] = [];
  for (let first = 0; first < pointCount; first += POINTS_A_PART) {
    const count = Math.min(POINTS_A_PART, pointCount - first);
    const begin = header.pointOffset + first * header.recordLength;
    slices.push([{ begin, end: begin + count * header.recordLength, pointCount: count }]);
  }
  return slices;
}

/** Neighbouring chunks together. */
export function gatherChunks(chunks: readonly Chunk[]): Chunk[][] {
  const groups: Chunk[][] = [];
  let points = 0;
  for (const chunk of chunks) {
    if (groups.length === 0 || points + chunk.pointCount > POINTS_A_PART) {
      groups.push([]);
      points = 0;
    }
    groups.at(-1)!.push(chunk);
    points += chunk.pointCount;
  }
  return groups;
}

export const countPoints = (runs: readonly Chunk[]): number => runs.reduce((sum, run) => sum + run.pointCount, 0);
