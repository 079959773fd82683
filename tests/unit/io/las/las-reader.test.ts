import { describe, expect, it } from 'vitest';
import { bytesSource, type ByteSource } from '../../../../src/io/byte-source.ts';
import { readLasFields } from '../../../../src/io/las/fields.ts';
import { lasReader } from '../../../../src/io/las/las-reader.ts';
import { InputError } from '../../../../src/units/input-error.ts';
import { extraByteDescriptor, geoKeyDirectory, writeLas, type LasFileSpec, type LasPoint } from '../../../fixtures/las-writer.ts';

const strict = { salvage: false };
const salvage = { salvage: true };
const open = (bytes: Uint8Array, options = strict) => lasReader.describe(bytesSource('roof.las', bytes), options);

async function readAll(bytes: Uint8Array, options = strict) {
  const source = bytesSource('roof.las', bytes);
  const description = await lasReader.describe(source, options);
  const batches = await Promise.all(description.parts.map((_, part) => lasReader.readPoints(source, description, part)));
  return { description, batches };
}

// The point under test stands at index 2, so that a wrong record length shows.
const looked: LasPoint = {
  x: 500_123.457, y: 4_399_190.123, z: 17.25, intensity: 40_000, returnNumber: 2, returnCount: 3, scanDirection: 1,
  edgeOfFlightLine: 1, classification: 6, classFlags: 3, scanAngle: -12, userData: 200, pointSourceId: 60_001,
  gpsTime: 123_456.789, colour: [65_535, 32_768, 256], nearInfrared: 1_234,
  wave: { index: 3, offset: 70_000, size: 128, location: 1.5, direction: [0.25, -0.5, 0.125] },
};
const points: LasPoint[] = [{ x: 500_100, y: 4_399_000, z: 10 }, { x: 500_101, y: 4_399_001, z: 11, classification: 2 }, looked];
const base: LasFileSpec = { points, offset: [500_000, 4_000_000, 0] };

describe('lasReader', () => {
  const versions = [
    ['1.0', [0, 1]], ['1.1', [0, 1]], ['1.2', [0, 1, 2, 3]], ['1.3', [0, 1, 2, 3, 4, 5]],
    ['1.4', [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]], ['1.5', [6, 7, 8, 9, 10]],
  ] as const;
  for (const [version, formats] of versions) {
    it.each(formats)(`reads every field of version ${version}, format %i`, async (pdrf) => {
      const source = bytesSource('roof.las', writeLas({ ...base, version, pdrf, extraBytes: 3 }));
      const description = await lasReader.describe(source, strict);
      expect(description).toMatchObject({ format: 'LAS', formatDetail: `LAS ${version}, record format ${pdrf}`, pointCount: 3, up: 'z' });
      expect(description.bounds).toEqual({ min: [500_100, 4_399_000, 10], max: [looked.x, looked.y, looked.z] });
      const batch = await lasReader.readPoints(source, description, 0);
      // int × scale + offset, in float64.
      expect([...batch.positions.subarray(6)]).toEqual([123_457 * 0.001 + 500_000, 399_190_123 * 0.001 + 4_000_000, 17_250 * 0.001]);
      expect([batch.intensity![2], batch.classification![2]]).toEqual([40_000, 6]);
      const fields = await readLasFields(source, description, 0);
      const at = <T>(array: ArrayLike<T> | null): T | null => array && array[2]!;
      expect({
        returnNumber: at(fields.returnNumber), returnCount: at(fields.returnCount), scanDirection: at(fields.scanDirection),
        edge: at(fields.edgeOfFlightLine), classFlags: at(fields.classFlags), userData: at(fields.userData), source: at(fields.pointSourceId),
      }).toEqual({ returnNumber: 2, returnCount: 3, scanDirection: 1, edge: 1, classFlags: 3, userData: 200, source: 60_001 });
      expect(at(fields.scanAngleDeg)).toBeCloseTo(pdrf <= 5 ? -12 : -0.072, 12);
      expect(at(fields.gpsTime)).toBe([0, 2].includes(pdrf) ? null : 123_456.789);
      const coloured = [2, 3, 5, 7, 8, 10].includes(pdrf);
      expect(fields.colours && [...fields.colours.subarray(6)]).toEqual(coloured ? [65_535, 32_768, 256] : null);
      expect(batch.colours && [...batch.colours.subarray(6)]).toEqual(coloured ? [255, 128, 1] : null);
      expect(at(fields.nearInfrared)).toBe([8, 10].includes(pdrf) ? 1_234 : null);
      if ([4, 5, 9, 10].includes(pdrf)) {
        const waves = fields.wavePackets!;
        expect([at(waves.descriptorIndex), at(waves.offset), at(waves.size), at(waves.returnLocation)]).toEqual([3, 70_000, 128, 1.5]);
        expect([...waves.direction.subarray(6)]).toEqual([0.25, -0.5, 0.125]);
      } else {
        expect(fields.wavePackets).toBeNull();
      }
    });
  }

  it('takes files by signature, or by name', () => {
    expect(lasReader.recognises(writeLas(base), 'noname')).toBe(true);
    expect(lasReader.recognises(new Uint8Array(), 'broken.LAZ')).toBe(true);
    expect(lasReader.recognises(new Uint8Array([1, 2, 3, 4]), 'roof.ply')).toBe(false);
  });

  it('cuts a large file into parts that join without a seam', async () => {
    // Format 0 has 20 bytes a point; 2 500 000 of them, written straight into the file.
    const count = 2_500_000;
    const head = writeLas({ version: '1.2', pdrf: 0, points: [] });
    const bytes = new Uint8Array(head.length + count * 20);
    bytes.set(head);
    const view = new DataView(bytes.buffer);
    view.setUint32(107, count, true);
    for (let point = 0; point < count; point++) view.setInt32(head.length + point * 20, point, true);
    let longestRead = 0;
    const source: ByteSource = {
      name: 'large.las', size: bytes.length,
      read: async (begin, end) => {
        longestRead = Math.max(longestRead, end - begin);
        return bytes.subarray(begin, end);
      },
    };
    const description = await lasReader.describe(source, strict);
    expect(description.parts.map((part) => part.pointCount)).toEqual(new Array(10).fill(250_000));
    let expected = 0;
    let wrong = 0;
    for (let part = 0; part < 10; part++) {
      const { positions } = await lasReader.readPoints(source, description, part);
      for (let at = 0; at < positions.length; at += 3) if (positions[at] !== expected++ * 0.001) wrong++;
    }
    expect([expected, wrong]).toEqual([count, 0]);
    expect(longestRead).toBeLessThanOrEqual(5_000_000);
  });

  it('masks the class of the older formats to five bits and keeps the byte of the newer', async () => {
    const one = async (pdrf: number, version: '1.2' | '1.4', classification: number) => {
      const { batches } = await readAll(writeLas({ version, pdrf, points: [{ x: 0, y: 0, z: 0, classification, classFlags: pdrf <= 5 ? 7 : 0 }] }));
      return batches[0]!.classification![0];
    };
    expect(await one(3, '1.2', 31)).toBe(31);
    expect(await one(7, '1.4', 200)).toBe(200);
  });

  it('decides once per file how colours are stored', async () => {
    const colours = async (...list: [number, number, number][]) => {
      const { batches, description } = await readAll(writeLas({ version: '1.2', pdrf: 2, points: list.map((colour) => ({ x: 0, y: 0, z: 0, colour })) }));
      return { colours: batches[0]!.colours && [...batches[0]!.colours], notes: description.notes };
    };
    expect((await colours([255, 10, 0], [1, 2, 3])).colours).toEqual([255, 10, 0, 1, 2, 3]);
    expect((await colours([256, 255, 0], [65_535, 0, 511])).colours).toEqual([1, 0, 0, 255, 0, 1]);
    const none = await colours([0, 0, 0]);
    expect(none.colours).toBeNull();
    expect(none.notes).toEqual(['The colour fields are zero and were taken for absent.']);
  });

  it('leaves out what is not asked for, and reads the same positions', async () => {
    const source = bytesSource('roof.las', writeLas({ ...base, version: '1.2', pdrf: 2 }));
    const description = await lasReader.describe(source, strict);
    const { positions } = await lasReader.readPoints(source, description, 0);
    const bare = await lasReader.readPoints(source, description, 0, null, false);
    expect(bare).toEqual({ pointCount: 3, positions, colours: null, intensity: null, classification: null });
  });

  it('reads an empty file', async () => {
    const { description, batches } = await readAll(writeLas({ points: [] }));
    expect(description).toMatchObject({ pointCount: 0, bounds: null, parts: [], notes: [] });
    expect(batches).toEqual([]);
  });

  it('takes statements of projection from records before and behind the points', async () => {
    const wkt = 'PROJCS["Lambert-93",UNIT["metre",1],AUTHORITY["EPSG","2154"]]';
    const text = { userId: 'LASF_Projection', recordId: 2112, contents: new TextEncoder().encode(`${wkt}\0`) };
    const keys = { userId: 'LASF_Projection', recordId: 34735, contents: geoKeyDirectory([[1024, 0, 1, 1], [3072, 0, 1, 2056], [3076, 0, 1, 9001]]) };
    const before = await open(writeLas({ ...base, vlrs: [keys, text, { ...text, userId: 'liblas' }] }));
    expect(before.crsStatements.map(({ origin, epsg }) => [origin, epsg])).toEqual([['WKT record', 2154], ['GeoTIFF keys', 2056]]);
    const behind = await open(writeLas({ ...base, evlrs: [text] }));
    expect(behind.crsStatements).toMatchObject([{ epsg: 2154, kind: 'projected', unitToMetre: 1, wkt }]);
    expect(behind.notes).toEqual([]);
  });

  it('describes extra bytes', async () => {
    // One byte nobody describes, then int16 with scale 0.01 and offset 5 and "no data" -1, then float64 that does not fit.
    const contents = new Uint8Array([
      ...extraByteDescriptor({ name: 'raw', dataType: 0, options: 1 }),
      ...extraByteDescriptor({ name: 'height', dataType: 4, options: 1 | 8 | 16, noData: -1, scale: 0.01, offset: 5 }),
      ...extraByteDescriptor({ name: 'late', dataType: 10 }),
    ]);
    const bytes = writeLas({
      version: '1.4', pdrf: 6, extraBytes: 3, vlrs: [{ userId: 'LASF_Spec', recordId: 4, contents }],
      points: [{ x: 0, y: 0, z: 0, extra: [9, 0xff, 0xff] }, { x: 0, y: 0, z: 0, extra: [9, 0x2c, 0x01] }],
    });
    const source = bytesSource('roof.las', bytes);
    const description = await lasReader.describe(source, strict);
    const { extra } = await readLasFields(source, description, 0);
    expect([...extra.keys()]).toEqual(['height']);
    expect([...extra.get('height')!]).toEqual([NaN, 8]);
    expect(description.notes[0]).toContain('"late" do not fit');
  });

  it('keeps a time that is not a number, and the points with it', async () => {
    const source = bytesSource('roof.las', writeLas({ version: '1.2', pdrf: 1, points: [{ x: 1, y: 2, z: 3, gpsTime: NaN }] }));
    const description = await lasReader.describe(source, strict);
    expect([...(await lasReader.readPoints(source, description, 0)).positions]).toEqual([1, 2, 3]);
    expect((await readLasFields(source, description, 0)).gpsTime![0]).toBeNaN();
  });

  it('uses the 64-bit count, and the older one where it is alone', async () => {
    const bytes = writeLas({ ...base, pdrf: 3 });
    const view = new DataView(bytes.buffer);
    view.setUint32(107, 2, true);
    const both = await open(bytes);
    expect(both.pointCount).toBe(3);
    expect(both.notes).toEqual(['Point count at byte 247 is 3 while the older one at byte 107 is 2; the first was used.']);
    view.setBigUint64(247, 0n, true);
    const alone = await open(bytes);
    expect(alone.pointCount).toBe(2);
    expect(alone.notes[0]).toContain('the older one was used');
  });

  it('notes bounds that the points contradict, and bounds that are none', async () => {
    const bytes = writeLas(base);
    const view = new DataView(bytes.buffer);
    view.setFloat64(179, 500_110, true);
    const lying = await open(bytes);
    expect(lying.bounds).toBeNull();
    expect(lying.notes[0]).toMatch(/^1 of 3 points looked at lie outside the bounds that the header states/);
    view.setFloat64(179, 1, true);
    const none = await open(bytes);
    expect(none.bounds).toBeNull();
    expect(none.notes.at(-1)).toContain('no bounds');
  });

  describe('refuses in one line', () => {
    const spoilt: [string, (view: DataView) => void, string][] = [
      ['signature', (view) => view.setUint8(1, 0x58), 'signature at byte 0 is "LXSF", expected "LASF"'],
      ['version', (view) => view.setUint8(25, 9), 'version at byte 24 is 1.9, expected 1.0 to 1.5'],
      ['header size', (view) => view.setUint16(94, 300, true), 'header size at byte 94 is 300, expected at least 375'],
      ['header size beyond the file', (view) => view.setUint16(94, 60_000, true), 'header size at byte 94 is 60000, but the file ends'],
      ['offset to points', (view) => view.setUint32(96, 9_999, true), 'offset to point data at byte 96 is 9999, expected 375 to'],
      ['record format', (view) => view.setUint8(104, 11), 'point record format at byte 104 is 11, expected 0 to 10'],
      ['record length', (view) => view.setUint16(105, 35, true), 'point record length at byte 105 is 35, expected at least 36'],
      ['scale', (view) => view.setFloat64(139, 0, true), 'y scale factor at byte 139 is 0, expected a number above 0'],
      ['offset', (view) => view.setFloat64(171, NaN, true), 'z offset at byte 171 is NaN, expected a finite number'],
      ['count', (view) => view.setBigUint64(247, 2n ** 60n, true), 'number of point records at byte 247 is'],
      ['count beyond the file', (view) => view.setBigUint64(247, 1_000_000n, true), 'header promises 1000000 points, but the file holds 3'],
      ['compression without a record', (view) => view.setUint8(104, 7 | 128), 'the format byte 104 marks compressed points, but there is no compression record'],
    ];
    it.each(spoilt)('a wrong %s', async (_, spoil, message) => {
      const bytes = writeLas(base);
      spoil(new DataView(bytes.buffer));
      const error = await open(bytes).catch((each: unknown) => each);
      expect(error).toBeInstanceOf(InputError);
      expect((error as InputError).message).toContain(`roof.las: ${message}`);
      expect((error as InputError).message).not.toContain('\n');
    });

    it('a file cut anywhere inside its header', async () => {
      const bytes = writeLas(base);
      for (let size = 0; size < 375; size += 7) await expect(open(bytes.slice(0, size))).rejects.toBeInstanceOf(InputError);
    });
  });

  it('reads what is there of a cut off file only when asked to', async () => {
    const bytes = writeLas({ ...base, pdrf: 6 }).slice(0, -10);
    await expect(open(bytes)).rejects.toThrow('header promises 3 points, but the file holds 2');
    const { description, batches } = await readAll(bytes, salvage);
    expect([description.pointCount, batches[0]!.pointCount, batches[0]!.positions.length]).toEqual([2, 2, 6]);
    expect(description.notes).toEqual(['The header promises 3 points, but the file holds 2; those were read.']);
  });

  it('does not read the records behind the points as points', async () => {
    const bytes = writeLas({ ...base, evlrs: [{ userId: 'a', recordId: 1, contents: new Uint8Array(500) }] });
    const view = new DataView(bytes.buffer);
    expect((await open(bytes)).pointCount).toBe(3);
    view.setBigUint64(247, 10n, true);
    await expect(open(bytes)).rejects.toThrow('header promises 10 points, but the file holds 3');
  });

  it('notes what stands behind the points it was promised', async () => {
    const bytes = writeLas(base);
    new DataView(bytes.buffer).setBigUint64(247, 1n, true);
    const description = await open(bytes);
    expect(description.pointCount).toBe(1);
    expect(description.notes).toContain('Behind the 1 points of the header there is room for 2 more; what stands there was not read.');
    const transform = { userId: 'LASF_Projection', recordId: 2111, contents: new Uint8Array(9) };
    expect((await open(writeLas({ ...base, vlrs: [transform] }))).notes[0]).toContain('record 2111; it was not applied');
  });

  it('counts points marked as withheld among those it looks at', async () => {
    for (const pdrf of [3, 6]) {
      const marked = writeLas({ version: '1.4', pdrf, points: [{ x: 0, y: 0, z: 0 }, { x: 0, y: 0, z: 0, classFlags: 4 }, { x: 0, y: 0, z: 0, classFlags: 1 }] });
      expect((await open(marked)).notes).toContain('1 of 3 points looked at are marked as withheld; they were read like the others.');
    }
  });

  it('ends in points or in one line, whatever byte is spoilt', async () => {
    const wkt = { userId: 'LASF_Projection', recordId: 2112, contents: new TextEncoder().encode('LOCAL_CS["a",UNIT["m",1]]') };
    const keys = { userId: 'LASF_Projection', recordId: 34735, contents: geoKeyDirectory([[1024, 0, 1, 1], [1026, 34737, 9, 2]]) };
    const bytes = writeLas({ ...base, vlrs: [keys, wkt], evlrs: [wkt] });
    for (let at = 0; at < bytes.length; at++) {
      for (const value of [0, 127, 255]) {
        const spoilt = bytes.slice();
        spoilt[at] = value;
        for (const options of [strict, salvage]) {
          const result = await readAll(spoilt, options).catch((error: unknown) => error);
          if (result instanceof Error && !(result instanceof InputError)) expect.fail(`byte ${at} = ${value}: ${result.stack}`);
        }
      }
    }
  });

  it('ignores records that overrun, and says so', async () => {
    const bytes = writeLas({ ...base, vlrs: [{ userId: 'a', recordId: 1, contents: new Uint8Array(4) }] });
    const view = new DataView(bytes.buffer);
    view.setUint32(100, 4_000_000_000, true);
    const description = await open(bytes);
    expect(description.pointCount).toBe(3);
    expect(description.notes[0]).toContain('Variable length record 2 of 4000000000 at byte 433 runs past the start of the points');
    view.setUint32(100, 1, true);
    view.setBigUint64(235, 2n ** 63n, true);
    view.setUint32(243, 77, true);
    expect((await open(bytes)).notes[0]).toContain('Extended record 1 of 77');
  });
});
