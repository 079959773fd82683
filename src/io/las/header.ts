import type { Vector3 } from '../../geometry/vector.ts';
import { InputError } from '../../units/input-error.ts';
import type { Bounds3 } from '../survey-file.ts';
import { pointFormats } from './point-format.ts';

/** The public header block. Plain data: it crosses threads. */
export interface LasHeader {
  readonly versionMinor: number;
  readonly globalEncoding: number;
  readonly software: string;
  /** [bytes] */
  readonly headerSize: number;
  /** First byte of the points. */
  readonly pointOffset: number;
  readonly variableRecordCount: number;
  /** First byte of the extended records; 0 where there are none. */
  readonly extendedRecordOffset: number;
  readonly extendedRecordCount: number;
  /** 0 to 10. */
  readonly recordFormat: number;
  /** [bytes] */
  readonly recordLength: number;
  /** The mark of compression in the two high bits of the format byte. */
  readonly compressed: boolean;
  /** As promised; whether the file holds them is checked elsewhere. */
  readonly pointCount: number;
  readonly scale: Vector3;
  readonly offset: Vector3;
  /** As stated, even when it contradicts the points. */
  readonly bounds: Bounds3;
  /** What was odd, one sentence each. */
  readonly notes: readonly string[];
}

/** The longest header this reader looks at (LAS 1.5). [bytes] */
export const maximumHeaderSize = 393;
const shortestHeader = 227;
/** Smallest header by minor version. (LAS 1.0 to 1.4 R16, public header block; 1.5: 393 bytes) */
const headerSizes = [227, 227, 227, 235, 375, 393];

/**
 * Reads and checks the header.
 *
 * @param bytes  The first bytes of the file, at least `maximumHeaderSize` where it is that long.
 * @param name  File name, for messages. @param fileSize  [bytes]
 * @throws InputError naming field, byte offset, value and what was expected.
 */
export function readLasHeader(bytes: Uint8Array, name: string, fileSize: number): LasHeader {
  const fail = (message: string): never => { throw new InputError(name, message); };
  const signature = String.fromCharCode(...bytes.subarray(0, 4));
  if (signature !== 'LASF') {
    fail(`signature at byte 0 is ${quoted(signature)}, expected "LASF"; this is not a LAS file.`);
  }
  if (fileSize < shortestHeader) fail(`file ends after ${fileSize} bytes, inside the header; a LAS header has at least ${shortestHeader}.`);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const major = view.getUint8(24);
  const versionMinor = view.getUint8(25);
  if (major !== 1 || versionMinor > 5) fail(`version at byte 24 is ${major}.${versionMinor}, expected 1.0 to 1.5.`);
  const headerSize = view.getUint16(94, true);
  const needed = headerSizes[versionMinor]!;
  if (headerSize < needed) fail(`header size at byte 94 is ${headerSize}, expected at least ${needed} for version 1.${versionMinor}.`);
  if (headerSize > fileSize) fail(`header size at byte 94 is ${headerSize}, but the file ends after ${fileSize} bytes.`);
  const pointOffset = view.getUint32(96, true);
  if (pointOffset < headerSize || pointOffset > fileSize) {
    fail(`offset to point data at byte 96 is ${pointOffset}, expected ${headerSize} to ${fileSize} (header size to file size).`);
  }
  const formatByte = view.getUint8(104);
  const recordFormat = formatByte & 63;
  const format = pointFormats[recordFormat] ?? fail(`point record format at byte 104 is ${recordFormat}, expected 0 to 10.`);
  const recordLength = view.getUint16(105, true);
  if (recordLength < format.length) {
    fail(`point record length at byte 105 is ${recordLength}, expected at least ${format.length} for record format ${recordFormat}.`);
  }
  const notes: string[] = [];
  const extended = versionMinor >= 4;
  return {
    versionMinor,
    globalEncoding: view.getUint16(6, true),
    software: fixedText(bytes.subarray(58, 90)),
    headerSize,
    pointOffset,
    variableRecordCount: view.getUint32(100, true),
    extendedRecordOffset: extended ? Number(view.getBigUint64(235, true)) : 0,
    extendedRecordCount: extended ? view.getUint32(243, true) : 0,
    recordFormat,
    recordLength,
    compressed: formatByte >= 128,
    pointCount: readPointCount(view, extended, notes, fail),
    scale: readScale(view, fail),
    offset: readOffset(view, fail),
    bounds: readBounds(view),
    notes,
  };
}

/** Text of a fixed field: up to the first zero byte, blanks trimmed. */
export function fixedText(bytes: Uint8Array): string {
  const end = bytes.indexOf(0);
  return String.fromCharCode(...(end < 0 ? bytes : bytes.subarray(0, end))).trim();
}

/** Whether the stated bounds can be bounds at all. */
export const boundsAreUsable = ({ bounds: { min, max } }: LasHeader): boolean =>
  min.every((low, axis) => Number.isFinite(low) && Number.isFinite(max[axis]!) && low <= max[axis]!);

type Fail = (message: string) => never;

/** The 64-bit count rules from version 1.4 on; the 32-bit one is 0 or a copy. */
function readPointCount(view: DataView, extended: boolean, notes: string[], fail: Fail): number {
  const legacy = view.getUint32(107, true);
  if (!extended) return legacy;
  const count = Number(view.getBigUint64(247, true));
  if (count > Number.MAX_SAFE_INTEGER) fail(`number of point records at byte 247 is ${count}, more than any file can hold.`);
  if (count === 0 && legacy > 0) {
    notes.push(`Point count at byte 247 is 0 while the older one at byte 107 is ${legacy}; the older one was used.`);
    return legacy;
  }
  if (legacy !== 0 && legacy !== count) {
    notes.push(`Point count at byte 247 is ${count} while the older one at byte 107 is ${legacy}; the first was used.`);
  }
  return count;
}

function readScale(view: DataView, fail: Fail): Vector3 {
  const scale = readTriple(view, 131, 139, 147);
  scale.forEach((value, axis) => {
    if (!Number.isFinite(value) || value <= 0) {
      fail(`${'xyz'[axis]} scale factor at byte ${131 + 8 * axis} is ${value}, expected a number above 0.`);
    }
  });
  return scale;
}

function readOffset(view: DataView, fail: Fail): Vector3 {
  const offset = readTriple(view, 155, 163, 171);
  offset.forEach((value, axis) => {
    if (!Number.isFinite(value)) fail(`${'xyz'[axis]} offset at byte ${155 + 8 * axis} is ${value}, expected a finite number.`);
  });
  return offset;
}

/** Stored as max x, min x, max y, min y, max z, min z. */
const readBounds = (view: DataView): Bounds3 => ({
  min: readTriple(view, 187, 203, 219),
  max: readTriple(view, 179, 195, 211),
});

const readTriple = (view: DataView, x: number, y: number, z: number): Vector3 =>
  [view.getFloat64(x, true), view.getFloat64(y, true), view.getFloat64(z, true)];

/** Printable characters as they are, others as a full stop, so that one line stays one line. */
const quoted = (text: string): string => `"${text.replace(/[^\x20-\x7e]/g, '.')}"`;
