import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { lasReader } from '../../../../src/io/las/las-reader.ts';
import { parseRegion, regionContains } from '../../../../src/io/region.ts';
import type { PointBatch } from '../../../../src/io/point-batch.ts';
import { layOutLaz, type LazFileSpec } from '../../../fixtures/laz-writer.ts';

const strict = { salvage: false };
const CHUNK = 200;

/** A strip of points from west to east, so that each chunk covers 20 m of it. */
const strip = (pdrf: number): LazFileSpec => ({
  pdrf, chunkSize: CHUNK,
  points: Array.from({ length: 5 * CHUNK }, (_, index) => ({ x: 1000 + index * 0.1, y: 2000 + (index % 7), z: 10 + (index % 13) * 0.2, intensity: index % 300, classification: 6 })),
});

/** @param damaged  What the points are read from, where that is not what was described. */
async function read(bytes: Uint8Array, region: string, damaged = bytes): Promise<{ inside: number[][]; pointCount: number }> {
  const description = await lasReader.describe(bytesSource('strip.laz', bytes), strict);
  const source = bytesSource('strip.laz', damaged);
  const asked = parseRegion(region);
  const batches = await Promise.all(description.parts.map((_, part) => lasReader.readPoints(source, description, part, asked)));
  const inside = (batch: PointBatch) => Array.from({ length: batch.pointCount }, (_, i) => [...batch.positions.subarray(3 * i, 3 * i + 3), batch.intensity![i]!])
    .filter(([x, y]) => regionContains(asked, x!, y!));
  return { inside: batches.flatMap(inside), pointCount: batches.reduce((sum, batch) => sum + batch.pointCount, 0) };
}

describe('a region of a compressed file', () => {
  const second = '1021,1999 1038,1999 1038,2010 1021,2010';
  const everywhere = '900,1900 1200,1900 1200,2100 900,2100';

  it.each([3, 7])('keeps every point inside (record format %i)', async (pdrf) => {
    const { bytes } = layOutLaz(strip(pdrf));
    const all = await read(bytes, everywhere);
    expect(all.pointCount).toBe(5 * CHUNK);
    const part = await read(bytes, second);
    const asked = parseRegion(second);
    expect(part.inside).toEqual(all.inside.filter(([x, y]) => regionContains(asked, x!, y!)));
    expect(part.inside.length).toBeGreaterThan(100);
  });

  it('decodes only the layer of plan positions of layered chunks outside', async () => {
    const { bytes, chunks } = layOutLaz(strip(7));
    expect((await read(bytes, second)).pointCount).toBe(CHUNK);
    // The last chunk's later layers are cut to nothing sensible: whoever decodes them reports damage.
    const spoilt = bytes.slice();
    const last = chunks.at(-1)!;
    spoilt.fill(255, last.end - 60, last.end);
    expect((await read(bytes, second, spoilt)).pointCount).toBe(CHUNK);
    await expect(read(bytes, everywhere, spoilt)).rejects.toThrow(/compressed points/);
  });

  it('keeps chunks of one run whole, since their positions cannot be told alone', async () => {
    expect((await read(layOutLaz(strip(3)).bytes, second)).pointCount).toBe(5 * CHUNK);
  });
});
