import type { ByteSource } from '../../byte-source.ts';
import type { LasHeader } from '../header.ts';
import type { Chunk } from './chunk-table.ts';
import { layeredChunkSize, measureRun } from './decode-chunk.ts';
import type { LazSettings } from './settings.ts';

/** Bytes before the first chunk that say where the table is. */
const POINTER = 8;
/** No coding makes a point longer than its record and some bytes of models getting it wrong. */
const LONGEST_POINT = 2;
/** Enough to read the lengths of all layers of any record. [bytes] */
const LAYER_HEAD = 256 * 1024;

/**
 * Finds the chunks of a compressed file without its table, by reading through: for a file that was cut off. Layered
 * chunks say how long they are; others must be decoded to their end. Points whose bytes are not there are left out.
 */
export async function walkChunks(source: ByteSource, header: LasHeader, settings: LazSettings): Promise<Chunk[]> {
  const chunks: Chunk[] = [];
  let begin = header.pointOffset + POINTER;
  let left = header.pointCount;
  while (left > 0 && begin < source.size) {
    const chunk = settings.compressor === 3
      ? await layeredChunkAt(source, header, settings, begin)
      : await runAt(source, header, settings, begin, left);
    if (chunk === null || chunk.pointCount === 0) break;
    const pointCount = Math.min(left, chunk.pointCount);
    chunks.push({ ...chunk, pointCount });
    left -= pointCount;
    begin = chunk.end;
  }
  return chunks;
}

async function layeredChunkAt(source: ByteSource, header: LasHeader, settings: LazSettings, begin: number): Promise<Chunk | null> {
  const head = await source.read(begin, Math.min(source.size, begin + LAYER_HEAD));
  const size = layeredChunkSize(head, settings, header.recordLength);
  return size === null || begin + size.length > source.size ? null : { begin, end: begin + size.length, pointCount: size.pointCount };
}

async function runAt(source: ByteSource, header: LasHeader, settings: LazSettings, begin: number, left: number): Promise<Chunk | null> {
  if (settings.chunkSize === null) return null;
  const limit = Math.min(left, settings.chunkSize);
  const bytes = await source.read(begin, Math.min(source.size, begin + limit * header.recordLength * LONGEST_POINT + POINTER));
  const { pointCount, end } = measureRun(bytes, settings, header.recordLength, limit);
  return { begin, end: begin + (pointCount < limit ? bytes.length : end), pointCount };
}
