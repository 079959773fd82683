import { createRequire } from 'node:module';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { readLasFields } from '../../../../src/io/las/fields.ts';
import { countPoints, gatherChunks } from '../../../../src/io/las/las-part.ts';
import { lasReader } from '../../../../src/io/las/las-reader.ts';
import { InputError } from '../../../../src/units/input-error.ts';
import { writeLas, type LasFileSpec, type LasPoint } from '../../../fixtures/las-writer.ts';
import { writeLaz, type LazFileSpec } from '../../../fixtures/laz-writer.ts';

const strict = { salvage: false };

/** Numbers that look random and are the same everywhere (linear congruence of Numerical Recipes). */
function numbers(seed: number): (below: number) => number {
  let state = seed >>> 0;
  return (below) => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return Math.floor((state / 2 ** 32) * below);
  };
}

/** A walk over a pitched roof with returns, colours and a few wild values. */
function walk(count: number, extra: number): LasPoint[] {
  const next = numbers(20_261_125);
  return Array.from({ length: count }, (_, index) => {
    const returnCount = 1 + (next(4) === 0 ? next(4) : 0);
    const grey = next(65_536);
    const wild = next(50) === 0;
    return {
      x: index * 0.03 + next(20) * 0.001, y: Math.sin(index / 40) * 8 + next(20) * 0.001, z: wild ? -2_000_000 + next(4_000_000) : 6 + (index % 90) * 0.011,
      intensity: wild ? next(65_536) : 300 + next(40), returnCount, returnNumber: 1 + next(returnCount), scanDirection: next(2), edgeOfFlightLine: next(9) === 0 ? 1 : 0,
      classification: next(6) === 0 ? next(20) : 6, classFlags: next(8) === 0 ? 1 : 0, scanAngle: next(5) === 0 ? next(90) - 45 : 3, userData: next(7) === 0 ? next(256) : 0,
      pointSourceId: index < count / 2 ? 11 : 12 + next(2) * 300, gpsTime: index < 10 ? 400_000 : wild ? next(1_000_000) : 400_000 + index * 2 ** -20,
      colour: next(3) === 0 ? [grey, grey, grey] : [next(65_536), next(65_536), next(4_000)], extra: Array.from({ length: extra }, () => next(4)),
    };
  });
}

async function everything(bytes: Uint8Array) {
  const source = bytesSource('roof.laz', bytes);
  const description = await lasReader.describe(source, strict);
  const parts = await Promise.all(description.parts.map(async (_, part) => ({
    fields: await readLasFields(source, description, part),
    batch: await lasReader.readPoints(source, description, part),
  })));
  return { description, parts };
}

interface LazPerf {
  readonly HEAPU8: Uint8Array;
  _malloc(size: number): number;
  readonly LASZip: new () => { open(data: number, length: number): void; getCount(): number; getPoint(to: number): void };
}

describe('LAZ', () => {
  const listeners = { exception: process.listeners('uncaughtException'), rejection: process.listeners('unhandledRejection') };
  let perf: LazPerf;
  beforeAll(async () => {
    const { createLazPerf } = createRequire(import.meta.url)('laz-perf/lib/node/index.js') as { createLazPerf(): Promise<LazPerf> };
    perf = await createLazPerf();
  });
  // laz-perf adds handlers to the process; they must not outlive this test.
  afterAll(() => {
    process.listeners('uncaughtException').filter((each) => !listeners.exception.includes(each)).forEach((each) => process.off('uncaughtException', each));
    process.listeners('unhandledRejection').filter((each) => !listeners.rejection.includes(each)).forEach((each) => process.off('unhandledRejection', each));
  });

  const formats: [number, LasFileSpec['version'], number][] = [
    [0, '1.2', 0], [1, '1.2', 0], [2, '1.2', 3], [3, '1.2', 0], [3, '1.4', 5], [6, '1.4', 0], [6, '1.4', 2], [7, '1.4', 0], [7, '1.4', 4],
  ];
  const containers: [string, Partial<LazFileSpec>][] = [
    ['one chunk', {}], ['chunks of 300 points', { chunkSize: 300 }], ['chunks with their own counts', { chunkSize: 450, variableChunks: true }],
    ['written to a pipe', { chunkSize: 600, streamed: true }],
  ];

  it.each(formats)('format %i of version %s with %i extra bytes: as laz-perf reads it, and as it was before', (pdrf, version, extraBytes) => {
    const spec = { version, pdrf, extraBytes, points: walk(1_000, extraBytes), chunkSize: 400 } as LazFileSpec;
    const plain = writeLas(spec);
    const bytes = writeLaz(spec);
    const length = new DataView(plain.buffer).getUint16(105, true);
    const at = new DataView(plain.buffer).getUint32(96, true);
    const data = perf._malloc(bytes.length);
    perf.HEAPU8.set(bytes, data);
    const file = new perf.LASZip();
    file.open(data, bytes.length);
    expect(file.getCount()).toBe(1_000);
    const record = perf._malloc(length);
    for (let point = 0; point < 1_000; point++) {
      file.getPoint(record);
      const theirs = perf.HEAPU8.subarray(record, record + length);
      const truth = plain.subarray(at + point * length, at + (point + 1) * length);
      if (!theirs.every((value, byte) => value === truth[byte])) expect.fail(`point ${point}: ${theirs} instead of ${truth}`);
    }
  });

  describe.each(containers)('%s', (_, container) => {
    it.each(formats)('gives back format %i of version %s with %i extra bytes', async (pdrf, version, extraBytes) => {
      const spec = { version, pdrf, extraBytes, points: walk(1_000, extraBytes) } as LazFileSpec;
      const ours = await everything(writeLaz({ ...spec, ...container }));
      const truth = await everything(writeLas(spec));
      expect(ours.description.format).toBe('LAZ');
      expect(ours.parts).toEqual(truth.parts);
      expect(ours.description.notes).toEqual(truth.description.notes);
    });
  });

  it('gathers chunks into parts that join without a seam', async () => {
    // A part takes chunks up to 250 000 points, but never splits one.
    const points = Array.from({ length: 40 }, (_, index) => ({ x: index, y: 0, z: 0 }));
    const { description, parts } = await everything(writeLaz({ version: '1.2', pdrf: 0, scale: [1, 1, 1], points, chunkSize: 1 }));
    expect(description.parts.length).toBe(1);
    expect([...parts[0]!.batch.positions].filter((_, at) => at % 3 === 0)).toEqual(points.map((point) => point.x));
    const chunk = (pointCount: number) => ({ begin: 0, end: 1, pointCount });
    expect(gatherChunks([chunk(100_000), chunk(100_000), chunk(100_000), chunk(600_000), chunk(5)]).map(countPoints)).toEqual([200_000, 100_000, 600_000, 5]);
  });

  it('looks far enough for the only colour of a chunk', async () => {
    const points = walk(6_000, 0).map((point, index) => ({ ...point, colour: (index === 5_999 ? [40_000, 0, 0] : [0, 0, 0]) as [number, number, number] }));
    const { description, parts } = await everything(writeLaz({ version: '1.2', pdrf: 2, points }));
    expect(description.notes).toEqual([]);
    expect([...parts[0]!.batch.colours!.subarray(-3)]).toEqual([156, 0, 0]);
  });

  it('reads one point, and none', async () => {
    for (const pdrf of [3, 7]) {
      const version = pdrf === 3 ? '1.2' : '1.4';
      expect((await everything(writeLaz({ version, pdrf, points: walk(1, 0) }))).parts[0]!.batch).toEqual((await everything(writeLas({ version, pdrf, points: walk(1, 0) }))).parts[0]!.batch);
      expect((await everything(writeLaz({ version, pdrf, points: [] }))).description).toMatchObject({ pointCount: 0, parts: [], notes: [] });
    }
  });

  describe.each([[3, '1.2'], [7, '1.4']] as const)('damage in format %i', (pdrf, version) => {
    const spec = { version, pdrf, points: walk(1_000, 0), chunkSize: 400 } as LazFileSpec;
    const bytes = writeLaz(spec);
    const pointsAt = new DataView(bytes.buffer).getUint32(96, true);

    it('is mostly seen and refused in one line, and never adds or drops points', async () => {
      const truth = (await everything(bytes)).parts.map(({ batch }) => batch);
      const next = numbers(pdrf);
      let refused = 0;
      for (let trial = 0; trial < 60; trial++) {
        const spoilt = bytes.slice();
        const at = pointsAt + 200 + next(bytes.length - pointsAt - 300);
        spoilt[at]! ^= 1 << next(8);
        const result = await everything(spoilt).catch((error: unknown) => error);
        if (result instanceof Error) {
          expect(result).toBeInstanceOf(InputError);
          expect(result.message).not.toContain('\n');
          refused++;
        } else {
          const { parts } = result as Awaited<ReturnType<typeof everything>>;
          expect(parts.map(({ batch }) => batch.positions.length)).toEqual(truth.map((batch) => batch.positions.length));
        }
      }
      expect(refused).toBeGreaterThan(40);
    });

    it('of the end is refused, or read as far as it goes', async () => {
      const cut = bytesSource('roof.laz', bytes.slice(0, Math.floor(bytes.length * 0.8)));
      await expect(lasReader.describe(cut, strict)).rejects.toBeInstanceOf(InputError);
      const description = await lasReader.describe(cut, { salvage: true });
      expect(description.pointCount).toBeGreaterThanOrEqual(400);
      expect(description.pointCount).toBeLessThan(1_000);
      const truth = (await everything(bytes)).parts[0]!.batch.positions;
      expect([...(await lasReader.readPoints(cut, description, 0)).positions]).toEqual([...truth.subarray(0, description.pointCount * 3)]);
    });

    it('of the promises is refused', async () => {
      const change = async (spoil: (view: DataView) => void) => {
        const spoilt = bytes.slice();
        spoil(new DataView(spoilt.buffer));
        return everything(spoilt).catch((error: unknown) => (error as Error).message);
      };
      const headerSize = new DataView(bytes.buffer).getUint16(94, true);
      const countAt = pdrf === 3 ? 107 : 247;
      expect(await change((view) => view.setUint32(countAt, 1_150, true))).toMatch(/header promises 1150 points, but the file holds|expected \d+ compressed points/);
      expect(await change((view) => view.setUint16(headerSize + 54, 9, true))).toContain('compression record: compressor is 9, expected 1, 2 or 3');
      expect(await change((view) => view.setUint16(headerSize + 92, 8, true))).toContain('item type');
      expect(await change((view) => view.setUint16(headerSize + 90, 99, true))).toContain('its items have');
    });
  });
});
