import type { ByteSource } from '../byte-source.ts';
import { decodePoints, type ColourShift } from './decode-points.ts';
import { boundsAreUsable, type LasHeader } from './header.ts';
import type { Chunk } from './laz/chunk-table.ts';
import { basicClassAt, pointFormats } from './point-format.ts';
import { readRecords, type PlainOrCompressed } from './read-records.ts';

/** Places looked at, spread evenly over the file. */
const PLACES = 32;
/** Points looked at in all; every point of a file up to this size. Costs some 30 ms in a compressed file. */
const POINTS = 64_000;

/** What a look at some points tells that the header cannot. */
export interface Look {
  readonly colourShift: ColourShift;
  /** False when some point lies outside what the header states. */
  readonly boundsHold: boolean;
  readonly notes: readonly string[];
}

/**
 * Looks at up to 64 000 points spread over the file, and decides once for all parts how colours are stored: the
 * standard asks for the whole 16-bit range, but many writers store 0 to 255, and some leave zeros.
 * The choice hangs on the file alone, not on the order its parts are read in. Contradictions with the header are noted.
 */
export async function lookAtPoints(source: ByteSource, file: PlainOrCompressed, runs: readonly Chunk[]): Promise<Look> {
  const colourAt = pointFormats[file.header.recordFormat]!.colour;
  const outside = new OutsideCount(file.header);
  let brightest = 0;
  let withheld = 0;
  let total = 0;
  const places = spread(runs, file);
  const limit = Math.ceil(POINTS / Math.max(1, places.length));
  for (const place of places) {
    const records = await readRecords(source, file, [place], 'all', limit);
    const count = records.length / file.header.recordLength;
    total += count;
    withheld += countWithheld(records, count, file.header);
    if (colourAt !== null) brightest = Math.max(brightest, brightestColour(records, count, file.header.recordLength, colourAt));
    outside.add(decodePoints(records, count, file.header, null).positions);
  }
  const notes = outside.notes();
  if (withheld > 0) notes.push(`${withheld} of ${total} points looked at are marked as withheld; they were read like the others.`);
  if (colourAt === null || runs.length === 0) return { colourShift: null, boundsHold: outside.none, notes };
  if (brightest === 0) notes.push('The colour fields are zero and were taken for absent.');
  else if (brightest < 256) notes.push('Colours were taken for 8-bit numbers: none above 255 was found.');
  return { colourShift: brightest === 0 ? null : brightest < 256 ? 0 : 8, boundsHold: outside.none, notes };
}

/** Plain records are cut into as many places as wanted; of chunks the beginnings of some are taken. */
function spread(runs: readonly Chunk[], file: PlainOrCompressed): Chunk[] {
  if (file.laz !== null || runs.length === 0) {
    const step = Math.max(1, runs.length / PLACES);
    return Array.from({ length: Math.min(PLACES, runs.length) }, (_, place) => runs[Math.floor(place * step)]!);
  }
  const { pointOffset, recordLength } = file.header;
  const total = runs.reduce((sum, run) => sum + run.pointCount, 0);
  const most = POINTS / PLACES;
  const step = Math.max(most, Math.ceil(total / PLACES));
  const places: Chunk[] = [];
  for (let first = 0; first < total; first += step) {
    const pointCount = Math.min(most, total - first);
    const begin = pointOffset + first * recordLength;
    places.push({ begin, end: begin + pointCount * recordLength, pointCount });
  }
  return places;
}

function brightestColour(records: Uint8Array, count: number, step: number, colourAt: number): number {
  const view = new DataView(records.buffer, records.byteOffset, records.byteLength);
  let brightest = 0;
  for (let point = 0, at = colourAt; point < count; point++, at += step) {
    brightest = Math.max(brightest, view.getUint16(at, true), view.getUint16(at + 2, true), view.getUint16(at + 4, true));
  }
  return brightest;
}

/** Withheld: "should not be included in processing" (LAS 1.4 R16, tables 8 and 16); a person must know that some are there. */
function countWithheld(records: Uint8Array, count: number, header: LasHeader): number {
  const { extended } = pointFormats[header.recordFormat]!;
  const mask = extended ? 4 : 128;
  let withheld = 0;
  for (let point = 0, at = basicClassAt; point < count; point++, at += header.recordLength) if ((records[at]! & mask) !== 0) withheld++;
  return withheld;
}

/** Counts points outside the bounds of the header, with a tolerance of one coordinate step. */
class OutsideCount {
  private outside = 0;
  private total = 0;

  constructor(private readonly header: LasHeader) {}

  add(positions: Float64Array): void {
    if (!boundsAreUsable(this.header)) return;
    const { min, max } = this.header.bounds;
    for (let at = 0; at < positions.length; at += 3) {
      let inside = true;
      for (let axis = 0; axis < 3; axis++) {
        const value = positions[at + axis]!;
        const step = this.header.scale[axis]!;
        if (!(value >= min[axis]! - step && value <= max[axis]! + step)) inside = false;
      }
      if (!inside) this.outside++;
    }
    this.total += positions.length / 3;
  }

  get none(): boolean {
    return this.outside === 0;
  }

  notes(): string[] {
    if (this.outside === 0) return [];
    return [`${this.outside} of ${this.total} points looked at lie outside the bounds that the header states (bytes 179 to 226); bounds were taken from the points.`];
  }
}
