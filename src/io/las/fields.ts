import type { ByteSource } from '../byte-source.ts';
import type { FileDescription } from '../survey-file.ts';
import { readStored, type ExtraField } from './extra-fields.ts';
import type { LasPartDetail } from './las-part.ts';
import { intensityAt, pointFormats, type PointFormat } from './point-format.ts';
import { readRecords } from './read-records.ts';

/**
 * Every field of the points of one part, one array each; null where the record format lacks the field. The survey
 * itself needs none of them: they are for looking into files and for tests.
 */
export interface LasFields {
  readonly pointCount: number;
  /** Stored integers x, y, z, `n × 3`. */
  readonly integers: Int32Array;
  readonly intensity: Uint16Array;
  readonly returnNumber: Uint8Array;
  readonly returnCount: Uint8Array;
  /** 1: mirror moving to positive. */
  readonly scanDirection: Uint8Array;
  readonly edgeOfFlightLine: Uint8Array;
  readonly classification: Uint8Array;
  /** Bit 0 synthetic, 1 key point, 2 withheld, 3 overlap (formats 6 to 10 only). */
  readonly classFlags: Uint8Array;
  readonly scannerChannel: Uint8Array | null;
  readonly userData: Uint8Array;
  /** [degrees] */
  readonly scanAngleDeg: Float64Array;
  readonly pointSourceId: Uint16Array;
  /** Seconds of week, or standard GPS time minus 10^9 where bit 0 of the global encoding is set; NaN is kept. [s] */
  readonly gpsTime: Float64Array | null;
  /** Red, green, blue as stored, `n × 3`. */
  readonly colours: Uint16Array | null;
  readonly nearInfrared: Uint16Array | null;
  readonly wavePackets: WavePacketFields | null;
  /** By name; scaled; NaN where the file says "no data". */
  readonly extra: ReadonlyMap<string, Float64Array>;
}

/** Where the waveform of a point stands, and its line in space. */
export interface WavePacketFields {
  readonly descriptorIndex: Uint8Array;
  /** [bytes] from the start of the waveform data. */
  readonly offset: Float64Array;
  /** [bytes] */
  readonly size: Uint32Array;
  /** [picoseconds] from the first sample to the return. */
  readonly returnLocation: Float32Array;
  /** Change of x, y, z per picosecond, `n × 3`. */
  readonly direction: Float32Array;
}

/** Scan angles of formats 6 to 10 are stored in these steps (LAS 1.4 R16, table 16). [degrees] */
const ANGLE_STEP = 0.006;

/** @param part  Index into `description.parts`. */
export async function readLasFields(source: ByteSource, description: FileDescription, part: number): Promise<LasFields> {
  const filePart = description.parts[part];
  if (filePart === undefined) throw new RangeError(`Expected a part below ${description.parts.length}, got ${part}.`);
  const { file, runs } = filePart.detail as LasPartDetail;
  const records = await readRecords(source, file, runs, 'all');
  return decodeFields(records, filePart.pointCount, file.header.recordFormat, file.header.recordLength, file.extraFields);
}

/** @param records  `pointCount` plain records of `step` bytes. */
export function decodeFields(
  records: Uint8Array, pointCount: number, recordFormat: number, step: number, extraFields: readonly ExtraField[],
): LasFields {
  const view = new DataView(records.buffer, records.byteOffset, records.byteLength);
  const format = pointFormats[recordFormat]!;
  const byte = (at: number): Uint8Array => Uint8Array.from({ length: pointCount }, (_, point) => view.getUint8(point * step + at));
  const word = (at: number): Uint16Array => Uint16Array.from({ length: pointCount }, (_, point) => view.getUint16(point * step + at, true));
  const triples = (at: number): Uint16Array =>
    Uint16Array.from({ length: pointCount * 3 }, (_, index) => view.getUint16(Math.floor(index / 3) * step + at + 2 * (index % 3), true));
  return {
    pointCount,
    integers: Int32Array.from({ length: pointCount * 3 }, (_, index) => view.getInt32(Math.floor(index / 3) * step + 4 * (index % 3), true)),
    intensity: word(intensityAt),
    ...(format.extended ? extendedFlags(view, pointCount, step, byte) : basicFlags(byte)),
    pointSourceId: word(format.extended ? 20 : 18),
    gpsTime: format.gpsTime === null ? null : Float64Array.from({ length: pointCount }, (_, point) => view.getFloat64(point * step + format.gpsTime!, true)),
    colours: format.colour === null ? null : triples(format.colour),
    nearInfrared: format.nearInfrared === null ? null : word(format.nearInfrared),
    wavePackets: wavePackets(view, pointCount, step, format),
    extra: new Map(extraFields.map((field) => [field.name, extraValues(view, pointCount, step, field)])),
  };
}

type Flags = Pick<LasFields, 'returnNumber' | 'returnCount' | 'scanDirection' | 'edgeOfFlightLine' | 'classification' |
  'classFlags' | 'scannerChannel' | 'userData' | 'scanAngleDeg'>;

function basicFlags(byte: (at: number) => Uint8Array): Flags {
  const returns = byte(14);
  const classes = byte(15);
  return {
    returnNumber: returns.map((value) => value & 7),
    returnCount: returns.map((value) => (value >> 3) & 7),
    scanDirection: returns.map((value) => (value >> 6) & 1),
    edgeOfFlightLine: returns.map((value) => value >> 7),
    classification: classes.map((value) => value & 31),
    classFlags: classes.map((value) => value >> 5),
    scannerChannel: null,
    userData: byte(17),
    scanAngleDeg: Float64Array.from(new Int8Array(byte(16).buffer)),
  };
}

function extendedFlags(view: DataView, pointCount: number, step: number, byte: (at: number) => Uint8Array): Flags {
  const returns = byte(14);
  const flags = byte(15);
  return {
    returnNumber: returns.map((value) => value & 15),
    returnCount: returns.map((value) => value >> 4),
    scanDirection: flags.map((value) => (value >> 6) & 1),
    edgeOfFlightLine: flags.map((value) => value >> 7),
    classification: byte(16),
    classFlags: flags.map((value) => value & 15),
    scannerChannel: flags.map((value) => (value >> 4) & 3),
    userData: byte(17),
    scanAngleDeg: Float64Array.from({ length: pointCount }, (_, point) => view.getInt16(point * step + 18, true) * ANGLE_STEP),
  };
}

function wavePackets(view: DataView, pointCount: number, step: number, format: PointFormat): WavePacketFields | null {
  const first = format.wavePacket;
  if (first === null) return null;
  const at = (point: number, field: number): number => point * step + first + field;
  const length = pointCount;
  return {
    descriptorIndex: Uint8Array.from({ length }, (_, point) => view.getUint8(at(point, 0))),
    offset: Float64Array.from({ length }, (_, point) => Number(view.getBigUint64(at(point, 1), true))),
    size: Uint32Array.from({ length }, (_, point) => view.getUint32(at(point, 9), true)),
    returnLocation: Float32Array.from({ length }, (_, point) => view.getFloat32(at(point, 13), true)),
    direction: Float32Array.from({ length: length * 3 }, (_, index) => view.getFloat32(at(Math.floor(index / 3), 17 + 4 * (index % 3)), true)),
  };
}

function extraValues(view: DataView, pointCount: number, step: number, field: ExtraField): Float64Array {
  return Float64Array.from({ length: pointCount }, (_, point) => {
    const stored = readStored(view, point * step + field.at, field.type);
    return stored === field.noData ? NaN : stored * field.scale + field.offset;
  });
}
