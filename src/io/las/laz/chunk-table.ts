import type { ByteSource } from '../../byte-source.ts';
import { ArithmeticDecoder, CorruptStream } from './arithmetic-decoder.ts';
import type { LasHeader } from '../header.ts';
import { IntegerDecompressor } from './integer-decompressor.ts';
import type { LazSettings } from './settings.ts';

/** A run of compressed bytes that can be decoded on its own. */
export interface Chunk {
  readonly begin: number;
  readonly end: number;
  readonly pointCount: number;
}

/** Bytes before the first chunk that say where the table is. */
const POINTER = 8;
const TABLE_HEADER = 8;
/**
 * Beyond this many points a compressed byte the file is damaged: even identical points need about 0.008 bits each in
 * this coding, so no honest file has more than some thousand.
 */
const POINTS_PER_BYTE = 4096;

/** A chunk of more points would need more memory at once than a browser gives. */
const MAXIMUM_CHUNK = 50_000_000;
/** A size class and a 32-bit number, twice. [bytes] */
const LONGEST_ENTRY = 18;

/**
 * Where the chunks of a compressed file stand, by its table.
 *
 * @returns The chunks that hold points; or in words why the table cannot be used.
 */
export async function readChunkTable(source: ByteSource, header: LasHeader, settings: LazSettings): Promise<Chunk[] | string> {
  const first = header.pointOffset + POINTER;
  const tableAt = await findTable(source, header.pointOffset);
  if (tableAt === null) return `there is no chunk table where byte ${header.pointOffset} points`;
  const at = `chunk table at byte ${tableAt}`;
  const head = new DataView((await source.read(tableAt, tableAt + TABLE_HEADER)).slice().buffer);
  const version = head.getUint32(0, true);
  const count = head.getUint32(4, true);
  const most = Math.floor((tableAt - first) / header.recordLength);
  if (version !== 0) return `${at} has version ${version}, expected 0`;
  if (count > most) return `${at} promises ${count} chunks, expected at most ${most} in ${tableAt - first} bytes`;
  if (count === 0) return [];
  const bytes = await source.read(tableAt + TABLE_HEADER, Math.min(source.size, tableAt + TABLE_HEADER + (count + 4) * LONGEST_ENTRY));
  try {
    return decodeTable(bytes, count, first, tableAt, header.pointCount, settings);
  } catch (error) {
    if (error instanceof CorruptStream) return `${at}: ${error.message}`;
    throw error;
  }
}

/** The pointer stands before the first chunk, or (written to a pipe) in the last eight bytes of the file. */
async function findTable(source: ByteSource, pointOffset: number): Promise<number | null> {
  const inside = (at: number): boolean => at >= pointOffset + POINTER && at + TABLE_HEADER <= source.size;
  if (pointOffset + POINTER > source.size) return null;
  const at = await readPointer(source, pointOffset);
  if (at !== -1) return inside(at) ? at : null;
  const fromEnd = await readPointer(source, source.size - POINTER);
  return inside(fromEnd) ? fromEnd : null;
}

async function readPointer(source: ByteSource, at: number): Promise<number> {
  const bytes = (await source.read(at, at + POINTER)).slice();
  return Number(new DataView(bytes.buffer).getBigInt64(0, true));
}

function decodeTable(
  bytes: Uint8Array, count: number, first: number, tableAt: number, pointCount: number, settings: LazSettings,
): Chunk[] | string {
  const decoder = new ArithmeticDecoder(bytes, 0, bytes.length);
  const numbers = new IntegerDecompressor(32, 2);
  const chunks: Chunk[] = [];
  let begin = first;
  let length = 0;
  let points = 0;
  let pointsBefore = 0;
  for (let chunk = 1; chunk <= count; chunk++) {
    if (settings.chunkSize === null) points = numbers.decompress(decoder, points, 0);
    else points = Math.max(0, Math.min(settings.chunkSize, pointCount - pointsBefore));
    length = numbers.decompress(decoder, length, 1);
    const end = begin + length;
    if (length <= 0 || end > tableAt) {
      return `chunk table at byte ${tableAt} gives chunk ${chunk} of ${count} ${length} bytes from byte ${begin}, expected it to end before the table`;
    }
    const wrong = wrongPointCount(points, length);
    if (wrong !== null) return `chunk table at byte ${tableAt}: chunk ${chunk} of ${count} ${wrong}`;
    if (points > 0) chunks.push({ begin, end, pointCount: points });
    pointsBefore += points;
    begin = end;
  }
  return chunks;
}

/** In words what is wrong with a promise of points in so many bytes; null when it may be kept. */
export function wrongPointCount(points: number, length: number): string | null {
  if (points < 0 || points > length * POINTS_PER_BYTE) return `promises ${points} points in ${length} bytes, more than any compression gives`;
  return points > MAXIMUM_CHUNK ? `holds ${points} points, expected at most ${MAXIMUM_CHUNK} in one chunk` : null;
}
