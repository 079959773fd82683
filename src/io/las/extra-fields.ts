import type { ByteSource } from '../byte-source.ts';
import { fixedText, type LasHeader } from './header.ts';
import { pointFormats } from './point-format.ts';
import { readRecord, type VariableRecord } from './variable-records.ts';

/** One described attribute among the extra bytes of a point (LAS 1.4 R16, table 24). Plain data: it crosses threads. */
export interface ExtraField {
  readonly name: string;
  readonly description: string;
  /** Position in the point record. [bytes] */
  readonly at: number;
  readonly type: ExtraType;
  /** Value = stored × scale + offset. */
  readonly scale: number;
  readonly offset: number;
  /** Stored value that stands for "none"; null where the file names none. */
  readonly noData: number | null;
}

export type ExtraType = 'uint8' | 'int8' | 'uint16' | 'int16' | 'uint32' | 'int32' | 'uint64' | 'int64' | 'float32' | 'float64';

const DESCRIPTOR = 192;
const OWNER = 'LASF_Spec';
const RECORD = 4;
/** Index: data type of the descriptor. 0 is undescribed, 11 to 30 are withdrawn pairs and triples of the ten. */
const TYPES: readonly (ExtraType | null)[] = [
  null, 'uint8', 'int8', 'uint16', 'int16', 'uint32', 'int32', 'uint64', 'int64', 'float32', 'float64',
];
const SIZES: Readonly<Record<ExtraType, number>> = {
  uint8: 1, int8: 1, uint16: 2, int16: 2, uint32: 4, int32: 4, uint64: 8, int64: 8, float32: 4, float64: 8,
};
const option = { noData: 1, scale: 8, offset: 16 } as const;

/** Reads the descriptions of extra bytes. Fields that do not fit into the record end the list with a note. */
export async function readExtraFields(
  source: ByteSource, header: LasHeader, records: readonly VariableRecord[], notes: string[],
): Promise<ExtraField[]> {
  const fields: ExtraField[] = [];
  let at = pointFormats[header.recordFormat]!.length;
  for (const record of records.filter((each) => each.userId === OWNER && each.recordId === RECORD)) {
    const bytes = await readRecord(source, record);
    const view = new DataView(bytes.buffer);
    for (let descriptor = 0; descriptor + DESCRIPTOR <= bytes.length; descriptor += DESCRIPTOR) {
      const { field, size } = readDescriptor(bytes, view, descriptor, at);
      if (at + size > header.recordLength) {
        notes.push(`Extra bytes "${fixedText(bytes.subarray(descriptor + 4, descriptor + 36))}" do not fit into the point record of ${header.recordLength} bytes and were ignored.`);
        return fields;
      }
      if (field !== null) fields.push(field);
      at += size;
    }
  }
  return fields;
}

/** @returns The field, null for one of a type that is only skipped, and its size in the record. */
function readDescriptor(bytes: Uint8Array, view: DataView, descriptor: number, at: number): { field: ExtraField | null; size: number } {
  const dataType = view.getUint8(descriptor + 2);
  const options = view.getUint8(descriptor + 3);
  const type = TYPES[dataType] ?? null;
  // For undescribed bytes the options hold their number.
  if (type === null) return { field: null, size: dataType === 0 ? options : withdrawnSize(dataType) };
  return {
    field: {
      name: fixedText(bytes.subarray(descriptor + 4, descriptor + 36)),
      description: fixedText(bytes.subarray(descriptor + 160, descriptor + 192)),
      at,
      type,
      scale: (options & option.scale) !== 0 ? view.getFloat64(descriptor + 112, true) : 1,
      offset: (options & option.offset) !== 0 ? view.getFloat64(descriptor + 136, true) : 0,
      noData: (options & option.noData) !== 0 ? anyNumber(view, descriptor + 40, type) : null,
    },
    size: SIZES[type],
  };
}

function withdrawnSize(dataType: number): number {
  const base = TYPES[((dataType - 1) % 10) + 1];
  return base === undefined || base === null || dataType > 30 ? 0 : SIZES[base] * Math.ceil(dataType / 10);
}

/** Eight bytes that hold an unsigned, a signed or a floating point number, as the type of the field says. */
function anyNumber(view: DataView, at: number, type: ExtraType): number {
  if (type.startsWith('float')) return view.getFloat64(at, true);
  return Number(type.startsWith('u') ? view.getBigUint64(at, true) : view.getBigInt64(at, true));
}

/** Stored number of a field in the record that starts at `at`. */
export function readStored(view: DataView, at: number, type: ExtraType): number {
  switch (type) {
    case 'uint8': return view.getUint8(at);
    case 'int8': return view.getInt8(at);
    case 'uint16': return view.getUint16(at, true);
    case 'int16': return view.getInt16(at, true);
    case 'uint32': return view.getUint32(at, true);
    case 'int32': return view.getInt32(at, true);
    case 'uint64': return Number(view.getBigUint64(at, true));
    case 'int64': return Number(view.getBigInt64(at, true));
    case 'float32': return view.getFloat32(at, true);
    case 'float64': return view.getFloat64(at, true);
  }
}
