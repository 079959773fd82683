import { writeArrayBuffer } from 'geotiff';
import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { geotiffReader } from '../../../../src/io/geotiff/geotiff-reader.ts';
import { readPoints } from '../../../fixtures/read-source.ts';

/** A raster written by the library's own writer; 3 columns, 2 rows of half a metre. */
function raster(more: Record<string, unknown> = {}, values = Float32Array.of(1, 2, 3, 4, -9999, 6)) {
  const file = writeArrayBuffer(values, {
    width: 3, height: 2, BitsPerSample: [32], SampleFormat: [3], SamplesPerPixel: 1, PhotometricInterpretation: 1,
    ModelPixelScale: [0.5, 0.5, 0], ModelTiepoint: [0, 0, 0, 770500, 6277600, 0],
    GTModelTypeGeoKey: 1, GTRasterTypeGeoKey: 1, ProjectedCSTypeGeoKey: 2154, ProjLinearUnitsGeoKey: 9001,
    GDAL_NODATA: '-9999',
    ...more,
  } as never);
  return bytesSource('dsm.tif', new Uint8Array(file as ArrayBuffer));
}

describe('GeoTIFF heights', () => {
  it('lays a point at the centre of every pixel that has a height', async () => {
    const { description, batches } = await readPoints(geotiffReader, raster());
    expect(description).toMatchObject({ format: 'GeoTIFF', kind: 'raster', pointCount: 6, up: 'z' });
    expect([...batches[0]!.positions]).toEqual([
      770500.25, 6277599.75, 1, 770500.75, 6277599.75, 2, 770501.25, 6277599.75, 3, 770500.25, 6277599.25, 4, 770501.25, 6277599.25, 6,
    ]);
  });

  it('states projection and unit from its keys', async () => {
    const { description } = await readPoints(geotiffReader, raster());
    expect(description.crsStatements).toMatchObject([{ origin: 'GeoTIFF keys', kind: 'projected', epsg: 2154, unitToMetre: 1 }]);
  });

  it('puts the point on the tie point itself when pixels are points', async () => {
    const { batches } = await readPoints(geotiffReader, raster({ GTRasterTypeGeoKey: 2 }));
    expect([...batches[0]!.positions.subarray(0, 3)]).toEqual([770500, 6277600, 1]);
  });

  it('leaves out pixels that are no number or no height on earth', async () => {
    const { batches } = await readPoints(geotiffReader, raster({}, Float32Array.of(1, NaN, 3, -3.4e38, 5, Infinity)));
    expect([...batches[0]!.positions].filter((_, i) => i % 3 === 2)).toEqual([1, 3, 5]);
  });

  it('leaves out what writers store for nothing, when they state another number or none, and says so', async () => {
    for (const stated of ['nan', '-1']) {
      const { batches, description } = await readPoints(geotiffReader, raster({ GDAL_NODATA: stated }, Float32Array.of(1, -9999, 3, -32768, 5, -32767)));
      expect([...batches[0]!.positions].filter((_, i) => i % 3 === 2)).toEqual([1, 3, 5]);
      expect(description.notes.join()).toContain('-9999, -32767, -32768 have no height');
    }
  });

  it('refuses a picture', async () => {
    const file = writeArrayBuffer(Uint8Array.of(1, 2, 3, 4, 5, 6), { width: 3, height: 2 });
    await expect(geotiffReader.describe(bytesSource('ortho.tif', new Uint8Array(file)), { salvage: false })).rejects.toThrow(/ortho\.tif: is a picture \(1 bands of 8 bits\)/);
  });

  it('refuses a file cut short, in one line', async () => {
    const whole = await raster().read(0, raster().size);
    for (const size of [4, 8, 100, whole.length - 10]) {
      const cut = bytesSource('dsm.tif', whole.slice(0, size));
      await expect(readPoints(geotiffReader, cut), `${size} bytes`).rejects.toMatchObject({ name: 'InputError' });
    }
  });
});
