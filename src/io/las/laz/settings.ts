import { InputError } from '../../../units/input-error.ts';
import type { LasHeader } from '../header.ts';

/** One compressed part of a point record: what it holds, how many bytes, which version of its coding. */
export interface LazItem {
  readonly type: number;
  /** [bytes] */
  readonly size: number;
  readonly version: number;
}

/** Contents of the record that says how the points are compressed (LASzip 3, "laszip encoded" 22204). */
export interface LazSettings {
  /** 1: one run for all points; 2: chunks; 3: chunks of layers. */
  readonly compressor: 1 | 2 | 3;
  /** Points a chunk; null where each chunk has its own count. */
  readonly chunkSize: number | null;
  readonly items: readonly LazItem[];
}

export const lazOwner = 'laszip encoded';
export const lazRecordId = 22204;
const VARIABLE_CHUNKS = 0xffffffff;
const FIXED_PART = 34;
const ITEM = 6;

/** @throws InputError where the record is too short, or disagrees with the header. */
export function readLazSettings(contents: Uint8Array, header: LasHeader, name: string): LazSettings {
  const fail = (message: string): never => { throw new InputError(name, `compression record: ${message}`); };
  if (contents.length < FIXED_PART) fail(`has ${contents.length} bytes, expected at least ${FIXED_PART}.`);
  const view = new DataView(contents.buffer, contents.byteOffset, contents.byteLength);
  const compressor = view.getUint16(0, true);
  const coder = view.getUint16(2, true);
  if (compressor !== 1 && compressor !== 2 && compressor !== 3) {
    return fail(`compressor is ${compressor}, expected 1, 2 or 3.`);
  }
  if (coder !== 0) fail(`coder is ${coder}, expected 0 (arithmetic).`);
  const itemCount = view.getUint16(32, true);
  if (FIXED_PART + itemCount * ITEM > contents.length) fail(`promises ${itemCount} items, but has ${contents.length} bytes.`);
  const items = Array.from({ length: itemCount }, (_, item) => ({
    type: view.getUint16(FIXED_PART + item * ITEM, true),
    size: view.getUint16(FIXED_PART + item * ITEM + 2, true),
    version: view.getUint16(FIXED_PART + item * ITEM + 4, true),
  }));
  const length = items.reduce((sum, item) => sum + item.size, 0);
  if (length !== header.recordLength) {
    fail(`its items have ${length} bytes together, but the point record length at byte 105 is ${header.recordLength}.`);
  }
  const chunkSize = view.getUint32(12, true);
  return { compressor, chunkSize: chunkSize === VARIABLE_CHUNKS || chunkSize === 0 ? null : chunkSize, items };
}
