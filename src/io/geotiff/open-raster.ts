import type { GeoTIFFImage } from 'geotiff';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';

/** Pixel column and row to coordinates: x = a·column + b·row + c, y = d·column + e·row + f, for pixel corners or centres as the file says. */
export interface PixelToGround {
  readonly x: readonly [number, number, number];
  readonly y: readonly [number, number, number];
}

export interface HeightRaster {
  readonly image: GeoTIFFImage;
  readonly width: number;
  readonly height: number;
  readonly toGround: PixelToGround;
  readonly isPixelArea: boolean;
  /** Stored number that means "nothing here". */
  readonly nodata: number | null;
  /** Height = stored · scale + offset. */
  readonly scale: number;
  readonly offset: number;
  readonly notes: readonly string[];
}

/**
 * Opens the first image of a GeoTIFF as heights. The decoding library is loaded when first needed.
 *
 * @throws InputError for anything that is no height raster or cannot be placed on the ground.
 */
export async function openHeightRaster(source: ByteSource): Promise<HeightRaster> {
  const image = await openImage(source);
  const { name } = source;
  const notes: string[] = [];
  const bands = image.getSamplesPerPixel();
  const [bits, sampleFormat] = [image.getBitsPerSample(0), image.getSampleFormat(0)];
  if (bands >= 3 || (bits <= 8 && sampleFormat === 1)) {
    throw new InputError(name, `is a picture (${bands} bands of ${bits} bits), expected a raster of heights with one band of 16 bits or more.`);
  }
  if (bands === 2) notes.push('The second band of the raster is not used.');
  if (bits === 16 && sampleFormat === 3) notes.push('Heights are stored as 16-bit floats: steps reach a decimetre above 128 m.');
  const metadata = await lenient(() => image.getGDALMetadata(0));
  const number = (key: string, usual: number): number => {
    const value = Number(metadata?.[key] ?? usual);
    return Number.isFinite(value) ? value : usual;
  };
  const nodata = image.getGDALNoData();
  return {
    image,
    width: image.getWidth(),
    height: image.getHeight(),
    toGround: placement(name, image),
    isPixelArea: image.getGeoKeys()?.GTRasterTypeGeoKey !== 2,
    nodata: nodata !== null && sampleFormat === 3 && bits === 32 ? Math.fround(nodata) : nodata,
    scale: number('SCALE', 1),
    offset: number('OFFSET', 0),
    notes,
  };
}

async function openImage(source: ByteSource): Promise<GeoTIFFImage> {
  const { GeoTIFF } = await import('geotiff');
  const slices = {
    fileSize: source.size,
    async fetch(wanted: readonly { readonly offset: number; readonly length: number }[]): Promise<ArrayBuffer[]> {
      return Promise.all(
        wanted.map(async ({ offset, length }) => {
          const begin = Math.min(offset, source.size);
          const bytes = await source.read(begin, Math.min(source.size, offset + length));
          return bytes.slice().buffer as ArrayBuffer;
        }),
      );
    },
  };
  return decoding(source.name, async () => {
    const file = await GeoTIFF.fromSource(slices as unknown as Parameters<typeof GeoTIFF.fromSource>[0]);
    return file.getImage(0);
  });
}

/** Whatever the decoder throws on a file is the file's fault: it gets the file's name. */
export async function decoding<Result>(fileName: string, work: () => Promise<Result>): Promise<Result> {
  try {
    return await work();
  } catch (error) {
    throw new InputError(fileName, `the GeoTIFF cannot be decoded (${error instanceof Error ? error.message : String(error)}).`);
  }
}

async function lenient<Result>(work: () => Promise<Result>): Promise<Result | null> {
  try {
    return await work();
  } catch {
    return null;
  }
}

/** From the matrix, or from tie point and pixel size (OGC 19-008, 7.2 "Raster to model coordinate transformation"). */
function placement(fileName: string, image: GeoTIFFImage): PixelToGround {
  const { fileDirectory } = image;
  const matrix = fileDirectory.getValue('ModelTransformation') as ArrayLike<number> | undefined;
  const found = matrix && matrix.length >= 8
    ? { x: [matrix[0]!, matrix[1]!, matrix[3]!], y: [matrix[4]!, matrix[5]!, matrix[7]!] }
    : fromTiePoint(fileDirectory.getValue('ModelTiepoint') as ArrayLike<number> | undefined, fileDirectory.getValue('ModelPixelScale') as ArrayLike<number> | undefined);
  const isUsable = found && [...found.x, ...found.y].every(Number.isFinite) && found.x[0]! * found.y[1]! !== found.x[1]! * found.y[0]!;
  if (!isUsable) throw new InputError(fileName, 'has no place on the ground (no usable ModelTiepoint and ModelPixelScale, nor ModelTransformation), expected a GeoTIFF.');
  return found as unknown as PixelToGround;
}

function fromTiePoint(tie: ArrayLike<number> | undefined, pixel: ArrayLike<number> | undefined) {
  if (!tie || tie.length < 6 || !pixel || pixel.length < 2) return null;
  const [column, row, , x, y] = Array.from(tie) as [number, number, number, number, number];
  return { x: [pixel[0]!, 0, x - column * pixel[0]!], y: [0, -pixel[1]!, y + row * pixel[1]!] };
}
