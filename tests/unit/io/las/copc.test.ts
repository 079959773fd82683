import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { lasReader } from '../../../../src/io/las/las-reader.ts';
import { writeCopc, type CopcNodeSpec } from '../../../fixtures/copc-writer.ts';

const strict = { salvage: false };
const cube = (x: number, y: number, z: number, count: number) => Array.from({ length: count }, (_, index) => ({ x: x + index * 0.01, y, z, classification: 6 }));
// Root cube 0…16; node 1-1-0-0 is x 8…16, y and z 0…8; 2-0-3-0 is x 0…4, y 12…16, z 0…4.
const nodes: CopcNodeSpec[] = [
  { key: [0, 0, 0, 0], points: cube(1, 2, 3, 40) },
  { key: [1, 1, 0, 0], points: cube(9, 1, 1, 30) },
  { key: [1, 0, 1, 0], points: cube(1, 9, 1, 20) },
  { key: [2, 0, 3, 0], points: cube(1, 13, 1, 10) },
];
const spec = { pdrf: 6, center: [8, 8, 8], halfSize: 8, nodes } as const;
// Byte positions: COPC 1.0; the information record starts at 375, the root page's offset stands at 469.
const ROOT_OFFSET_AT = 469;

describe('COPC', () => {
  it.each([0, 2])('reads nodes with their cubes, %i of them on a page of their own', async (onSecondPage) => {
    const source = bytesSource('roof.copc.laz', writeCopc({ ...spec, onSecondPage }));
    const description = await lasReader.describe(source, strict);
    expect(description).toMatchObject({ format: 'COPC', pointCount: 100, notes: [] });
    expect(description.parts.map(({ pointCount, bounds }) => [pointCount, bounds!.min, bounds!.max])).toEqual([
      [40, [0, 0, 0], [16, 16, 16]],
      // Two small siblings together: 1-0-1-0 and 1-1-0-0.
      [50, [0, 0, 0], [16, 16, 8]],
      [10, [0, 12, 0], [4, 16, 4]],
    ]);
    const batch = await lasReader.readPoints(source, description, 2);
    expect([...batch.positions].map((value) => Math.round(value * 100))).toEqual(nodes[3]!.points.flatMap((point) => [point.x, point.y, point.z].map((value) => Math.round(value * 100))));
  });

  it('reads no byte of nodes it is not asked for', async () => {
    const bytes = writeCopc(spec);
    const whole = bytesSource('roof.copc.laz', bytes);
    const description = await lasReader.describe(whole, strict);
    const reads: [number, number][] = [];
    const source = { ...whole, read: async (begin: number, end: number) => { reads.push([begin, end]); return bytes.subarray(begin, end); } };
    await lasReader.readPoints(source, description, 2);
    const { runs } = description.parts[2]!.detail as { runs: { begin: number; end: number }[] };
    expect(reads).toEqual(runs.map(({ begin, end }) => [begin, end]));
  });

  it('falls back on the chunk table where the hierarchy cannot be used', async () => {
    const bytes = writeCopc(spec);
    const view = new DataView(bytes.buffer);
    const root = Number(view.getBigUint64(ROOT_OFFSET_AT, true));
    const spoil: [string, (view: DataView) => void][] = [
      ['does not lie inside the file', (each) => each.setBigUint64(ROOT_OFFSET_AT, 2n ** 60n, true)],
      ['page at byte', (each) => each.setBigUint64(ROOT_OFFSET_AT + 8, 33n, true)],
      ['node 0-0-0-0 does not lie inside the file', (each) => each.setInt32(root + 24, 999_999, true)],
      ['node 0-0-0-0 promises 2000000000 points', (each) => each.setInt32(root + 28, 2_000_000_000, true)],
    ];
    for (const [why, change] of spoil) {
      const copy = bytes.slice();
      change(new DataView(copy.buffer));
      const description = await lasReader.describe(bytesSource('roof.copc.laz', copy), strict);
      expect(description).toMatchObject({ format: 'LAZ', pointCount: 100 });
      expect(description.notes[0]).toMatch(new RegExp(`^The COPC hierarchy was not used: .*${why}`));
    }
  });

  it('does not run in circles when a page names itself', async () => {
    const bytes = writeCopc({ ...spec, onSecondPage: 1 });
    const view = new DataView(bytes.buffer);
    const root = Number(view.getBigUint64(ROOT_OFFSET_AT, true));
    view.setBigUint64(root + 3 * 32 + 16, BigInt(root), true);
    expect((await lasReader.describe(bytesSource('roof.copc.laz', bytes), strict)).notes[0]).toContain('named twice');
  });

  it('refuses a hierarchy of fewer points than the header promises, unless asked', async () => {
    const bytes = writeCopc(spec);
    const view = new DataView(bytes.buffer);
    const root = Number(view.getBigUint64(ROOT_OFFSET_AT, true));
    view.setInt32(root + 28, 0, true);
    await expect(lasReader.describe(bytesSource('roof.copc.laz', bytes), strict)).rejects.toThrow('header promises 100 points, but the file holds 60');
    expect((await lasReader.describe(bytesSource('roof.copc.laz', bytes), { salvage: true })).pointCount).toBe(60);
    view.setInt32(root + 28, 40, true);
    view.setBigUint64(247, 90n, true);
    const more = await lasReader.describe(bytesSource('roof.copc.laz', bytes), strict);
    expect([more.pointCount, more.notes[0]]).toEqual([100, 'The header promises 90 points, but the file holds 100; all were read.']);
  });
});
