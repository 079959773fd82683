import { createRequire } from 'node:module';
import { parse } from '@loaders.gl/core';
import { LASLoader } from '@loaders.gl/las';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bytesSource } from '../../src/io/byte-source.ts';
import { readLasFields } from '../../src/io/las/fields.ts';
import { lasReader } from '../../src/io/las/las-reader.ts';
import { InputError } from '../../src/units/input-error.ts';
import { openData, openDataFolder, openDataMissing, openDataNames } from '../fixtures/open-data.ts';

const LAS = /\.la[sz]$/;
const strict = { salvage: false };

async function readAll(set: string, name: string, salvage = false) {
  const source = bytesSource(name, openData(set, name));
  const description = await lasReader.describe(source, { salvage });
  const batches = [];
  for (let part = 0; part < description.parts.length; part++) batches.push(await lasReader.readPoints(source, description, part));
  return { source, description, batches };
}

/** Header facts by their published byte offsets (LAS 1.4 R16), read here without the reader under test. */
function headerFacts(bytes: Uint8Array) {
  const view = new DataView(bytes.buffer);
  const modern = bytes[25]! >= 4;
  const wide = modern ? Number(view.getBigUint64(247, true)) : 0;
  const triple = (...at: number[]) => at.map((each) => view.getFloat64(each, true));
  return {
    pointCount: wide || view.getUint32(107, true),
    bounds: { min: triple(187, 203, 219), max: triple(179, 195, 211) },
  };
}

describe.skipIf(openDataFolder === null)(`LAS files of the open data${openDataMissing}`, () => {
  for (const set of ['las-matrix', 'crs-units']) {
    it.each(openDataNames(set, LAS))(`${set}/%s opens with the true count and bounds of its header`, async (name) => {
      const truth = headerFacts(openData(set, name));
      const { description, batches } = await readAll(set, name);
      expect(description.pointCount).toBe(truth.pointCount);
      expect(batches.reduce((sum, batch) => sum + batch.pointCount, 0)).toBe(truth.pointCount);
      if (description.notes.some((note) => note.includes('outside the bounds'))) {
        expect(description.bounds).toBeNull();
        return;
      }
      expect(description.bounds).toEqual(truth.pointCount === 0 ? null : truth.bounds);
      for (const { positions } of batches) {
        for (let at = 0; at < positions.length; at++) {
          const step = description.coordinateStep![at % 3]!;
          if (!(positions[at]! >= truth.bounds.min[at % 3]! - step && positions[at]! <= truth.bounds.max[at % 3]! + step)) {
            expect.fail(`coordinate ${at} is ${positions[at]}, outside the header's bounds`);
          }
        }
      }
    });
  }

  const twins = openDataNames('las-matrix', /\.laz$/)
    .map((name) => [name, name.replace(/(\.las)?\.laz$/, '.las')] as const)
    .filter(([, plain]) => openDataNames('las-matrix', LAS).includes(plain));

  it('has its twins', () => expect(twins.length).toBeGreaterThanOrEqual(14));

  it.each(twins)('%s and %s hold identical points, in every field', async (compressed, plain) => {
    const fields = async (name: string) => {
      const { source, description } = await readAll('las-matrix', name);
      return description.parts.length === 0 ? null : readLasFields(source, description, 0);
    };
    expect(await fields(compressed)).toEqual(await fields(plain));
    expect((await readAll('las-matrix', compressed)).batches).toEqual((await readAll('las-matrix', plain)).batches);
  });

  it.each(openDataNames('malformed', LAS))('malformed/%s ends in points, or in one line', async (name) => {
    for (const salvage of [false, true]) {
      const started = performance.now();
      const result = await readAll('malformed', name, salvage).catch((error: unknown) => error);
      expect(performance.now() - started).toBeLessThan(10_000);
      if (result instanceof Error) {
        expect(result).toBeInstanceOf(InputError);
        expect(result.message).not.toContain('\n');
        expect(result.message.startsWith(`${name}: `)).toBe(true);
      }
    }
  });

  it('says what is wrong with broken files', async () => {
    await expect(readAll('malformed', '1.2-no-points.las')).rejects.toThrow('header promises 1065 points, but the file holds 0');
    await expect(readAll('malformed', 'lone-star-invalid-tile_2-2-2-2.laz')).rejects.toThrow('version at byte 24 is 126.203, expected 1.0 to 1.5');
    const vlr = await readAll('malformed', 'bad_vlr_count.las');
    expect([vlr.description.pointCount, vlr.description.notes[0]]).toEqual([10, expect.stringContaining('Variable length record 3 of 3')]);
    expect((await readAll('malformed', 'spurious.las')).description.notes[0]).toContain('1 of 1065 points looked at lie outside');
    expect((await readAll('malformed', 'lots_of_vlr.las')).description).toMatchObject({ pointCount: 1, notes: [] });
    expect((await readAll('malformed', '1.2-no-points.las', true)).description.pointCount).toBe(0);
  });

  // Of chunks in one run even a part is worth having; of layers only whole chunks; the last is one run for all points.
  it.each([
    ['crs-units', 'autzen_trim.laz', 0.8, 50_000],
    ['ign-770500', 'test_data_77060_627755_LA93_IGN69.laz', 0.9, 50_000],
    ['las-matrix', 'point-version-1-point-wise.laz', 0.5, 3_000],
  ] as const)('reads the points that are there of %s/%s cut at %d, when asked to', async (set, name, share, least) => {
    const bytes = openData(set, name);
    const source = bytesSource(name, bytes.slice(0, Math.floor(bytes.length * share)));
    // One run for all points is refused when it is read, not before: it does not say where it ends.
    const refused = lasReader.describe(source, strict).then((each) => lasReader.readPoints(source, each, 0));
    await expect(refused).rejects.toBeInstanceOf(InputError);
    const description = await lasReader.describe(source, { salvage: true });
    const whole = (await readAll(set, name)).batches.flatMap((batch) => [...batch.positions]);
    expect(description.pointCount).toBeGreaterThanOrEqual(least);
    expect(description.pointCount).toBeLessThan(whole.length / 3);
    expect(description.notes.join(' ')).toContain(`but the file holds ${description.pointCount}; those were read`);
    const read: number[] = [];
    for (let part = 0; part < description.parts.length; part++) {
      for (const value of (await lasReader.readPoints(source, description, part)).positions) read.push(value);
    }
    expect(read.length).toBe(description.pointCount * 3);
    expect(read.findIndex((value, at) => value !== whole[at])).toBe(-1);
  });

  // The 32-bit count of these tiles is 0; their text says EPSG:2154.
  it('reads the tiles of the terraces', async () => {
    const { description } = await readAll('ign-770500', 'test_data_77055_627755_LA93_IGN69.laz');
    expect(description).toMatchObject({ pointCount: 72_770, format: 'LAZ', formatDetail: 'LAZ, LAS 1.4, record format 8' });
    expect(description.crsStatements).toMatchObject([{ kind: 'projected', epsg: 2154, unitToMetre: 1 }]);
  });

  it('keeps the cubes of a COPC hierarchy around their points', async () => {
    for (const [set, name] of [['las-matrix', 'simple.copc.laz'], ['las-matrix', 'simple_with_page.copc.laz'], ['big', 'ellipsoid.copc.laz']] as const) {
      const { description, batches } = await readAll(set, name);
      expect(description.format).toBe('COPC');
      description.parts.forEach(({ bounds }, part) => {
        const { positions } = batches[part]!;
        const outside = positions.filter((value, at) => value < bounds!.min[at % 3]! - 0.01 || value > bounds!.max[at % 3]! + 0.01);
        expect(outside.length).toBe(0);
      });
    }
  });
});

// A second reader, where it is known to be right: versions up to 1.3, formats 0 to 3, in float64 (@loaders.gl/las 4.4.5).
describe.skipIf(openDataFolder === null)(`LAS files against @loaders.gl/las${openDataMissing}`, () => {
  const files = [
    ...['1.0_0.las', '1.1_1.las', '1.2_3.las', 'v2d2.las', 'v3d1.las', 'point-color-time.las', 'point-color-time.las.laz', '1815.laz', 'extra-bytes.laz'].map((name) => ['las-matrix', name] as const),
    ['crs-units', 'autzen-utm.las'], ['crs-units', 'mvk-thin.las'], ['swiss-hall', 'sample_c.las'], ['amsterdam-ahn', 'ahn_2386_9702.laz'],
  ] as const;
  it.each(files)('%s/%s: same coordinates, intensity and class', async (set, name) => {
    const bytes = openData(set, name);
    const other = await parse(bytes.buffer as ArrayBuffer, LASLoader, { worker: false, las: { fp64: true, shape: 'mesh' } } as never) as unknown as {
      attributes: Record<'POSITION' | 'intensity' | 'classification', { value: ArrayLike<number> }>;
    };
    const { batches } = await readAll(set, name);
    const [batch] = batches;
    expect(batches.length).toBe(1);
    expect(batch!.positions.length).toBe(other.attributes.POSITION.value.length);
    expect([...batch!.positions]).toEqual(Array.from(other.attributes.POSITION.value));
    expect([...batch!.intensity!]).toEqual(Array.from(other.attributes.intensity.value));
    expect([...batch!.classification!].map((value) => value & 31)).toEqual(Array.from(other.attributes.classification.value).map((value) => value & 31));
  });
});

interface LazPerf {
  readonly HEAPU8: Uint8Array;
  _malloc(size: number): number;
  _free(pointer: number): void;
  readonly LASZip: new () => { open(data: number, length: number): void; getCount(): number; getPointLength(): number; getPoint(to: number): void; delete(): void };
}

// A third reader for compressed files: laz-perf 0.0.7, which knows formats 0 to 3 and 6 to 8.
describe.skipIf(openDataFolder === null)(`LAZ files against laz-perf${openDataMissing}`, () => {
  const before = { exception: process.listeners('uncaughtException'), rejection: process.listeners('unhandledRejection') };
  // laz-perf adds handlers to the process; they must not outlive this test.
  afterAll(() => {
    process.listeners('uncaughtException').filter((each) => !before.exception.includes(each)).forEach((each) => process.off('uncaughtException', each));
    process.listeners('unhandledRejection').filter((each) => !before.rejection.includes(each)).forEach((each) => process.off('unhandledRejection', each));
  });
  const files = [
    ['ign-770500', 'test_data_77055_627755_LA93_IGN69_extra_dims.laz'], ['ign-770500', 'v12_pdrf3_classified_77050_627755.laz'],
    ['las-matrix', 'las14_pdrf6.laz'], ['las-matrix', 'point-time-1.4.las.laz'], ['las-matrix', 'simple.copc.laz'],
    ['malformed', 'laszip-generated_with2bytespadding.laz'], ['malformed', 'test_pdalfail_0643_6319_LA93_IGN69.laz'],
    ['crs-units', 'autzen_trim.laz'], ['amsterdam-ahn', 'ahn_2397_9705.laz'],
  ] as const;
  let perf: LazPerf;
  beforeAll(async () => {
    const { createLazPerf } = createRequire(import.meta.url)('laz-perf/lib/node/index.js') as { createLazPerf(): Promise<LazPerf> };
    perf = await createLazPerf();
  });
  it.each(files)('%s/%s: same integers, intensity, class and colours', async (set, name) => {
    const bytes = openData(set, name);
    const data = perf._malloc(bytes.length);
    perf.HEAPU8.set(bytes, data);
    const file = new perf.LASZip();
    file.open(data, bytes.length);
    const { source, description } = await readAll(set, name);
    expect(file.getCount()).toBe(description.pointCount);
    const record = perf._malloc(file.getPointLength());
    const modern = bytes[104]! % 64 >= 6;
    const colourAt = [null, null, 20, 28, null, null, null, 30, 30][bytes[104]! % 64]!;
    let wrong = 0;
    const parts = description.parts.map((_, part) => part);
    // A hierarchy lists its nodes by level; the file may keep them in another order, so points are compared as a set there.
    const ours: string[] = [];
    for (const part of parts) {
      const fields = await readLasFields(source, description, part);
      for (let point = 0; point < fields.pointCount; point++) {
        ours.push([...fields.integers.subarray(point * 3, point * 3 + 3), fields.intensity[point], fields.classification[point],
          ...(fields.colours === null ? [] : fields.colours.subarray(point * 3, point * 3 + 3))].join());
      }
    }
    const theirs: string[] = [];
    for (let point = 0; point < file.getCount(); point++) {
      file.getPoint(record);
      const view = new DataView(perf.HEAPU8.buffer, record, file.getPointLength());
      theirs.push([view.getInt32(0, true), view.getInt32(4, true), view.getInt32(8, true), view.getUint16(12, true),
        modern ? view.getUint8(16) : view.getUint8(15) & 31,
        ...(colourAt === null ? [] : [0, 2, 4].map((at) => view.getUint16(colourAt + at, true)))].join());
    }
    file.delete();
    if (description.format === 'COPC') {
      ours.sort();
      theirs.sort();
    }
    ours.forEach((each, point) => { if (each !== theirs[point]) wrong++; });
    expect(wrong).toBe(0);
  });
});
