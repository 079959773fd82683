import type { ByteSource } from '../byte-source.ts';
import { regionContains, type Region } from '../region.ts';
import type { LasFile } from './las-part.ts';
import type { Chunk } from './laz/chunk-table.ts';
import { readRecords } from './read-records.ts';

/**
 * The runs with at least one point in the region. A layered chunk (formats 6 to 10, compressed) keeps its plan positions in a
 * layer of their own: that alone is decoded to tell. Other runs would have to be decoded whole for it, and are all kept.
 */
export async function runsTouching(source: ByteSource, file: LasFile, runs: readonly Chunk[], region: Region): Promise<Chunk[]> {
  if (file.laz?.compressor !== 3) return [...runs];
  const kept: Chunk[] = [];
  for (const run of runs) {
    const records = await readRecords(source, file, [run], 'plan positions');
    if (hasPointInside(records, file, region)) kept.push(run);
  }
  return kept;
}

function hasPointInside(records: Uint8Array, { header }: LasFile, region: Region): boolean {
  const view = new DataView(records.buffer, records.byteOffset, records.byteLength);
  const { scale, offset, recordLength } = header;
  for (let at = 0; at < records.length; at += recordLength) {
    const x = view.getInt32(at, true) * scale[0] + offset[0];
    const y = view.getInt32(at + 4, true) * scale[1] + offset[1];
    if (regionContains(region, x, y)) return true;
  }
  return false;
}
