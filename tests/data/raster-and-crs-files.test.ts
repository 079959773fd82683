import { afterAll, describe, expect, it } from 'vitest';
import { bytesSource } from '../../src/io/byte-source.ts';
import { readerFor } from '../../src/io/readers.ts';
import { resolveCrs } from '../../src/site/resolve-crs.ts';
import { openData, openDataFolder, openDataMissing } from '../fixtures/open-data.ts';
import { hasProgram, run, TemporaryFolder } from '../fixtures/outside-tool.ts';
import { readPoints } from '../fixtures/read-source.ts';

const source = (set: string, name: string) => bytesSource(name, openData(set, name));

describe.skipIf(openDataFolder === null)(`height raster of the open data${openDataMissing}`, () => {
  const folder = new TemporaryFolder();
  afterAll(() => folder.remove());
  const name = 'ign770_dsm_25cm.tif';

  it('opens with its size, projection and unit, and its empty pixels left out', async () => {
    const file = source('dsm-derived', name);
    const { description, batches } = await readPoints(await readerFor(file), file);
    expect(description).toMatchObject({ format: 'GeoTIFF', kind: 'raster', pointCount: 600 * 400 });
    expect(description.crsStatements).toMatchObject([{ kind: 'projected', epsg: 2154, unitToMetre: 1 }]);
    expect(batches.reduce((count, batch) => count + batch.pointCount, 0)).toBeLessThan(600 * 400);
  });

  it.skipIf(!hasProgram('gdal_translate'))(`gives every pixel the place and height that GDAL gives it${hasProgram('gdal_translate') ? '' : ' (skipped: no gdal_translate)'}`, async () => {
    const file = source('dsm-derived', name);
    const { batches } = await readPoints(await readerFor(file), file);
    const listed = `${folder.path}/dsm.xyz`;
    run('gdal_translate', ['-q', '-of', 'XYZ', `${openDataFolder}/dsm-derived/${name}`, listed]);
    const rows = run('cat', [listed]).trim().split('\n').map((row) => row.split(' ').map(Number)).filter(([, , z]) => z !== -9999);
    const positions = batches.flatMap((batch) => [...batch.positions]);
    expect(positions.length).toBe(3 * rows.length);
    rows.flat().forEach((value, i) => {
      // GDAL prints single precision heights with all their digits.
      if (!(Math.abs(positions[i]! - value) < 1e-5)) expect.fail(`number ${i} is ${positions[i]}, GDAL says ${value}`);
    });
  });
});

describe.skipIf(openDataFolder === null)(`projection and unit of the open data${openDataMissing}`, () => {
  async function settle(set: string, name: string) {
    const file = source(set, name);
    const description = await (await readerFor(file)).describe(file, { salvage: false });
    return resolveCrs({ name, statements: description.crsStatements, bounds: description.bounds! }, {});
  }

  const FOOT = 0.3048;
  const US_FOOT = 12 / 39.37;
  it.each([
    ['autzen-bmx-2023.las', 'EPSG:2991', 1, US_FOOT, null],
    ['autzen-utm.las', 'EPSG:26910', 1, 1, null],
    ['autzen.copc.laz', 'EPSG:2992', FOOT, US_FOOT, null],
    ['autzen.las', 'EPSG:2994', FOOT, FOOT, /No unit of height is stated: heights are taken as international feet too/],
    ['autzen_geo_proj.las', 'EPSG:2994', FOOT, FOOT, /No unit of height/],
    ['autzen_trim.laz', null, FOOT, FOOT, /without an EPSG code/],
    ['autzen_trim_7.las', null, FOOT, FOOT, /without an EPSG code/],
    ['prec3.las', null, FOOT, FOOT, /without an EPSG code/],
    // Names the code of the metre system and means its twin in US survey feet.
    ['mvk-thin.las', 'EPSG:26995', US_FOOT, US_FOOT, /^Contradiction: US survey feet by GeoTIFF keys, metres by the definition of EPSG:26995/],
    ['srs_vertcs.las', 'EPSG:32617', 1, 1, null],
  ] as const)('crs-units/%s', async (name, crs, unit, verticalUnit, note) => {
    const settled = await settle('crs-units', name);
    expect(settled.crs).toBe(crs);
    expect(settled.unitToMetre).toBeCloseTo(unit, 12);
    expect(settled.verticalUnitToMetre).toBeCloseTo(verticalUnit, 12);
    if (note) expect(settled.notes[0]).toMatch(note);
    else expect(settled.notes).toEqual([]);
  });

  it.each(['autzen-dd.las', 'epsg_4326.las', 'test_epsg_4326_axis.las', 'test_epsg_4326x3.las'])('crs-units/%s is refused: degrees', async (name) => {
    await expect(settle('crs-units', name)).rejects.toThrow(/longitude and latitude in degrees \(.*EPSG:4326.*Reproject the file/);
  });

  it('swiss-hall: the cut of x is hinted at, never mended silently', async () => {
    const settled = await settle('swiss-hall', 'sample_c.las');
    expect(settled).toMatchObject({ crs: null, unitToMetre: 1 });
    expect(settled.notes.at(-1)).toMatch(/EPSG:2056 but for x, whose leading 2 000 000 looks cut off/);
  });

  it('delft-west: Dutch coordinates without a record are a hint', async () => {
    const settled = await settle('delft-west', 'ahn3_cropped_1.laz');
    expect(settled.crs).toBeNull();
    expect(settled.notes.at(-1)).toMatch(/EPSG:28992/);
  });
});
