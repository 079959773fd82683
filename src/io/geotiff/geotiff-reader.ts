import { geoKeysStatement } from '../crs/geo-keys-statement.ts';
import { resolveGeoKeys } from '../crs/geo-keys.ts';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import type { FileDescription, FilePart, SurveyFileReader } from '../survey-file.ts';
import { decoding, openHeightRaster, type HeightRaster } from './open-raster.ts';

/** Private to this reader: rows of pixels. */
interface RasterPartDetail {
  readonly firstRow: number;
  readonly lastRow: number;
}

/** Some 24 MB of coordinates. */
const PIXELS_PER_PART = 1_000_000;
/** No height on earth; what a raster uses for "nothing" without saying so lies far beyond. [m or ft] */
const GREATEST_HEIGHT = 100_000;
/** Stored by many writers for "nothing" without saying so (common practice, no source); no roof lies there. */
const NOTHING: ReadonlySet<number> = new Set([-9999, -32767, -32768]);

/** Reader of GeoTIFF height rasters: one point at the centre of every pixel that has a height. */
export const geotiffReader: SurveyFileReader = {
  recognises: (head) => isTiff(head, 42) || isTiff(head, 43),
  describe: describeRaster,
  readPoints: readRows,
};

function isTiff(head: Uint8Array, version: number): boolean {
  return (head[0] === 0x49 && head[1] === 0x49 && head[2] === version && head[3] === 0) || (head[0] === 0x4d && head[1] === 0x4d && head[2] === 0 && head[3] === version);
}

async function describeRaster(source: ByteSource): Promise<FileDescription> {
  const raster = await openHeightRaster(source);
  const { width, height, image } = raster;
  const { keys, problems } = geoKeysOf(raster);
  const statement = geoKeysStatement(keys);
  const [dx, dy] = [Math.hypot(raster.toGround.x[0], raster.toGround.y[0]), Math.hypot(raster.toGround.x[1], raster.toGround.y[1])];
  return {
    name: source.name,
    format: 'GeoTIFF',
    formatDetail: `GeoTIFF height raster, ${width} × ${height} pixels of ${Number(dx.toPrecision(6))} × ${Number(dy.toPrecision(6))}`,
    kind: 'raster',
    pointCount: width * height,
    triangleCount: 0,
    bounds: null,
    up: 'z',
    crsStatements: statement ? [statement] : [],
    coordinateStep: null,
    parts: partsOf(width, height, image.isTiled ? image.getTileHeight() : 1),
    notes: [
      ...raster.notes,
      ...problems,
      `A raster has one height per pixel: walls and the undersides of overhangs are not in it. Pixels with ${[...new Set([...(raster.nodata === null ? [] : [raster.nodata]), ...NOTHING])].join(', ')} have no height.`,
    ],
  };
}

function geoKeysOf({ image }: HeightRaster) {
  const { fileDirectory } = image;
  return resolveGeoKeys(
    Uint16Array.from((fileDirectory.getValue('GeoKeyDirectory') as ArrayLike<number> | undefined) ?? []),
    Float64Array.from((fileDirectory.getValue('GeoDoubleParams') as ArrayLike<number> | undefined) ?? []),
    (fileDirectory.getValue('GeoAsciiParams') as string | undefined) ?? '',
  );
}

/** Whole rows, and whole tiles where there are some, so that none is decoded twice. */
function partsOf(width: number, height: number, tileHeight: number): FilePart[] {
  const rows = Math.max(1, Math.floor(PIXELS_PER_PART / width / tileHeight)) * tileHeight;
  const parts: FilePart[] = [];
  for (let firstRow = 0; firstRow < height; firstRow += rows) {
    const lastRow = Math.min(height, firstRow + rows);
    parts.push({ pointCount: (lastRow - firstRow) * width, bounds: null, detail: { firstRow, lastRow } satisfies RasterPartDetail });
  }
  return parts;
}

async function readRows(source: ByteSource, description: FileDescription, part: number): Promise<PointBatch> {
  const detail = description.parts[part]?.detail as RasterPartDetail | undefined;
  if (!detail) throw new RangeError(`${source.name} has ${description.parts.length} parts, got number ${part}.`);
  const { image, width, toGround, isPixelArea, nodata, scale, offset } = await openHeightRaster(source);
  const { firstRow, lastRow } = detail;
  const rasters = await decoding(source.name, () => image.readRasters({ window: [0, firstRow, width, lastRow], samples: [0] }));
  const stored = rasters[0] as ArrayLike<number>;
  if (stored.length !== width * (lastRow - firstRow)) throw new InputError(source.name, `rows ${firstRow} to ${lastRow} hold ${stored.length} pixels, expected ${width * (lastRow - firstRow)}.`);
  const positions = new Float64Array(3 * stored.length);
  const centre = isPixelArea ? 0.5 : 0;
  let count = 0;
  for (let i = 0; i < stored.length; i++) {
    const value = stored[i]!;
    const z = value * scale + offset;
    if (value === nodata || NOTHING.has(value) || !(Math.abs(z) < GREATEST_HEIGHT)) continue;
    const column = (i % width) + centre;
    const row = firstRow + Math.floor(i / width) + centre;
    positions[3 * count] = toGround.x[0] * column + toGround.x[1] * row + toGround.x[2];
    positions[3 * count + 1] = toGround.y[0] * column + toGround.y[1] * row + toGround.y[2];
    positions[3 * count + 2] = z;
    count++;
  }
  return { pointCount: count, positions: positions.slice(0, 3 * count), colours: null, intensity: null, classification: null };
}
