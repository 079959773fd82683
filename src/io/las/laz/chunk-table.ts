import { InputError } from '../../../units/input-error.ts';
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
 * Beyond this many points a compressed byte the file is damaged: identical points need about 0.002 bytes each
 * in this coding, so an honest file stays far below.
 */
const POINTS_PER_BYTE = 4096;

/**
 * Where the chunks of a compressed file stand.
 *
 * @returns null where the table is missing, e.g. because the file ends early.
 * @throws InputError where the table contradicts the file.
 */
export async function readChunkTable(source: ByteSource, header: LasHeader, settings: LazSettings): Promise<Chunk[] | null> {
  const first = header.pointOffset + POINTER;
  const tableAt = await findTable(source, header.pointOffset);
  if (tableAt === null) return null;
  const fail = (message: string): never => { throw new InputError(source.name, `chunk table at byte ${tableAt}: ${message}`); };
  const head = new DataView((await source.read(tableAt, tableAt + TABLE_HEADER)).slice().buffer);
  const version = head.getUint32(0, true);
  const count = head.getUint32(4, true);
  if (version !== 0) fail(`version is ${version}, expected 0.`);
  if (count > (tableAt - first) / header.recordLength) {
    fail(`promises ${count} chunks, but ${tableAt - first} bytes hold no more than ${Math.floor((tableAt - first) / header.recordLength)}.`);
  }
  if (count === 0) return [];
  // An entry takes at most 2 × 9 bytes: two numbers of 32 bits with their size class.
  const bytes = await source.read(tableAt + TABLE_HEADER, Math.min(source.size, tableAt + TABLE_HEADER + count * 18 + 64));
  try {
    return decodeTable(bytes, count, first, tableAt, header.pointCount, settings, fail);
  } catch (error) {
    if (error instanceof CorruptStream) return fail(`${error.message}.`);
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
  bytes: Uint8Array, count: number, first: number, tableAt: number, pointCount: number,
  settings: LazSettings, fail: (message: string) => never,
): Chunk[] {
  const decoder = new ArithmeticDecoder(bytes, 0, bytes.length);
  const numbers = new IntegerDecompressor(32, 2);
  const chunks: Chunk[] = [];
  let begin = first;
  let length = 0;
  let points = 0;
  let pointsBefore = 0;
  for (let chunk = 0; chunk < count; chunk++) {
    if (settings.chunkSize === null) points = numbers.decompress(decoder, points, 0);
    else points = Math.min(settings.chunkSize, pointCount - pointsBefore);
    length = numbers.decompress(decoder, length, 1);
    const end = begin + length;
    if (length <= 0 || end > tableAt) fail(`chunk ${chunk + 1} of ${count} has ${length} bytes from byte ${begin}, expected it to end before the table.`);
    if (points < 0 || points > length * POINTS_PER_BYTE) fail(`chunk ${chunk + 1} of ${count} promises ${points} points in ${length} bytes.`);
    if (points > 0) chunks.push({ begin, end, pointCount: points });
    pointsBefore += points;
    begin = end;
  }
  return chunks;
}
