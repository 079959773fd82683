import type { PointBatch } from '../point-batch.ts';
import type { LasHeader } from './header.ts';
import { basicClassAt, extendedClassAt, intensityAt, pointFormats } from './point-format.ts';

/**
 * How many bits a stored 16-bit colour is shifted down to 8: 8 where the file uses the whole range as the standard
 * asks, 0 where it stores 0 to 255; null where the file has no colour. Decided once per file, never per part.
 */
export type ColourShift = 0 | 8 | null;

/**
 * Point records into arrays: coordinate = integer × scale + offset, in float64, exact to the file (LAS 1.4 R16, 2.4).
 *
 * @param records  `pointCount` records of `header.recordLength` bytes each.
 */
export function decodePoints(records: Uint8Array, pointCount: number, header: LasHeader, colourShift: ColourShift): PointBatch {
  const view = new DataView(records.buffer, records.byteOffset, pointCount * header.recordLength);
  const format = pointFormats[header.recordFormat]!;
  return {
    pointCount,
    positions: decodePositions(view, pointCount, header),
    intensity: decodeIntensity(view, pointCount, header.recordLength),
    classification: decodeClasses(records, pointCount, header.recordLength, format.extended),
    colours: format.colour === null || colourShift === null
      ? null
      : decodeColours(view, pointCount, header.recordLength, format.colour, colourShift),
  };
}

/** The same without colours, intensities and classes. */
export const decodeBarePoints = (records: Uint8Array, pointCount: number, header: LasHeader): PointBatch => ({
  pointCount,
  positions: decodePositions(new DataView(records.buffer, records.byteOffset, pointCount * header.recordLength), pointCount, header),
  colours: null,
  intensity: null,
  classification: null,
});

function decodePositions(view: DataView, pointCount: number, header: LasHeader): Float64Array {
  const positions = new Float64Array(pointCount * 3);
  const [scaleX, scaleY, scaleZ] = header.scale;
  const [offsetX, offsetY, offsetZ] = header.offset;
  const step = header.recordLength;
  for (let point = 0, at = 0, to = 0; point < pointCount; point++, at += step, to += 3) {
    positions[to] = view.getInt32(at, true) * scaleX + offsetX;
    positions[to + 1] = view.getInt32(at + 4, true) * scaleY + offsetY;
    positions[to + 2] = view.getInt32(at + 8, true) * scaleZ + offsetZ;
  }
  return positions;
}

function decodeIntensity(view: DataView, pointCount: number, step: number): Uint16Array {
  const intensity = new Uint16Array(pointCount);
  for (let point = 0, at = intensityAt; point < pointCount; point++, at += step) intensity[point] = view.getUint16(at, true);
  return intensity;
}

/** The older formats keep three flags in the high bits of the class byte. */
function decodeClasses(records: Uint8Array, pointCount: number, step: number, extended: boolean): Uint8Array {
  const classes = new Uint8Array(pointCount);
  const mask = extended ? 255 : 31;
  for (let point = 0, at = extended ? extendedClassAt : basicClassAt; point < pointCount; point++, at += step) {
    classes[point] = records[at]! & mask;
  }
  return classes;
}

function decodeColours(view: DataView, pointCount: number, step: number, first: number, shift: 0 | 8): Uint8Array {
  const colours = new Uint8Array(pointCount * 3);
  for (let point = 0, at = first, to = 0; point < pointCount; point++, at += step, to += 3) {
    colours[to] = Math.min(255, view.getUint16(at, true) >> shift);
    colours[to + 1] = Math.min(255, view.getUint16(at + 2, true) >> shift);
    colours[to + 2] = Math.min(255, view.getUint16(at + 4, true) >> shift);
  }
  return colours;
}
