import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { LasFile } from './las-part.ts';
import { CorruptStream } from './laz/arithmetic-decoder.ts';
import type { Chunk } from './laz/chunk-table.ts';
import { decodeChunk, type Wanted } from './laz/decode-chunk.ts';
import type { LazSettings } from './laz/settings.ts';

/** What decides how records are stored. */
export type PlainOrCompressed = Pick<LasFile, 'header' | 'laz'>;

/**
 * Plain point records of some runs of a file, one after the other.
 *
 * @param limit  At most this many points of each run, from its beginning.
 * @throws InputError where compressed bytes are damaged.
 */
export async function readRecords(
  source: ByteSource, file: PlainOrCompressed, runs: readonly Chunk[], wanted: Wanted, limit = Infinity,
): Promise<Uint8Array> {
  const { recordLength } = file.header;
  const counts = runs.map((run) => Math.min(run.pointCount, limit));
  if (runs.length === 1) return readRun(source, file, runs[0]!, counts[0]!, wanted);
  const records = new Uint8Array(counts.reduce((sum, count) => sum + count, 0) * recordLength);
  let to = 0;
  for (const [index, run] of runs.entries()) {
    const bytes = await readRun(source, file, run, counts[index]!, wanted);
    records.set(bytes, to);
    to += bytes.length;
  }
  return records;
}

async function readRun(source: ByteSource, file: PlainOrCompressed, run: Chunk, count: number, wanted: Wanted): Promise<Uint8Array> {
  const { recordLength } = file.header;
  if (file.laz === null) return source.read(run.begin, run.begin + count * recordLength);
  const bytes = await source.read(run.begin, run.end);
  try {
    return decodeChunk(bytes, file.laz, { pointCount: count, recordLength, wanted, whole: count === run.pointCount && isCertain(file.laz, run) });
  } catch (error) {
    if (!(error instanceof CorruptStream)) throw error;
    throw new InputError(source.name, `points at bytes ${run.begin} to ${run.end}: ${error.message}; expected ${run.pointCount} compressed points.`);
  }
}

/** The last chunk of fixed-size ones has as many points as the header leaves for it, which may be too few. */
const isCertain = (laz: LazSettings, run: Chunk): boolean =>
  laz.compressor === 3 || (laz.compressor === 2 && (laz.chunkSize === null || laz.chunkSize === run.pointCount));
