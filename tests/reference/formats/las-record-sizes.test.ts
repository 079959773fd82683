import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { bytesSource } from '../../../src/io/byte-source.ts';
import { lasReader } from '../../../src/io/las/las-reader.ts';
import { writeLas } from '../../fixtures/las-writer.ts';

const lines = readFileSync(new URL('las-record-sizes.csv', import.meta.url), 'utf8').trim().split('\n');
const head = lines.filter((line) => line.startsWith('#')).map((line) => line.slice(2, line.indexOf(':')));
const rows = lines.filter((line) => !line.startsWith('#')).slice(1).map((line) => line.split(',').map(Number) as [number, number]);

it('says where its values come from', () => {
  expect(head).toEqual(['source', 'edition', 'where', 'licence', 'tolerance']);
  expect(rows.length).toBe(11);
});

it.each(rows)('record format %i needs %i bytes: one less is refused, as many are read', async (pdrf, size) => {
  const bytes = writeLas({ version: '1.4', pdrf, points: [{ x: 1, y: 2, z: 3 }] });
  const view = new DataView(bytes.buffer);
  // Offsets of the same standard: record length at 105; a LAS 1.4 header has 375 bytes.
  view.setUint16(105, size - 1, true);
  await expect(lasReader.describe(bytesSource('a.las', bytes), { salvage: false })).rejects.toThrow(`expected at least ${size} for record format ${pdrf}`);
  view.setUint16(105, size, true);
  expect(bytes.length).toBe(375 + size);
  expect((await lasReader.describe(bytesSource('a.las', bytes), { salvage: false })).pointCount).toBe(1);
});
