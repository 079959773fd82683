import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import { fixedText, type LasHeader } from './header.ts';

/** Where a variable length record (extended or not) stands; its contents are read when someone asks. */
export interface VariableRecord {
  readonly userId: string;
  readonly recordId: number;
  /** First byte of the contents. */
  readonly begin: number;
  /** [bytes] */
  readonly length: number;
}

const RECORD_HEADER = 54;
const EXTENDED_HEADER = 60;
/** How much of the space before the points is searched; a record has at most 64 KiB, so this holds hundreds of them. [bytes] */
const SEARCHED = 16 * 1024 * 1024;
/** A crew-made file has a handful of extended records; beyond this the count is taken for damage. */
const MAXIMUM_EXTENDED = 10_000;
/** Largest contents this program asks for (a hierarchy page, a text). [bytes] */
const MAXIMUM_CONTENTS = 256 * 1024 * 1024;

/** Walks the records before the points. A record that overruns them ends the walk with a note. */
export async function findVariableRecords(source: ByteSource, header: LasHeader, notes: string[]): Promise<VariableRecord[]> {
  const begin = header.headerSize;
  const end = Math.min(header.pointOffset, begin + SEARCHED);
  const bytes = await source.read(begin, end);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const records: VariableRecord[] = [];
  let at = 0;
  while (records.length < header.variableRecordCount) {
    const length = at + RECORD_HEADER <= bytes.length ? view.getUint16(at + 20, true) : 0;
    if (at + RECORD_HEADER + length > bytes.length) {
      const past = end < header.pointOffset ? `the ${SEARCHED} bytes searched` : `the start of the points at byte ${header.pointOffset}`;
      notes.push(
        `Variable length record ${records.length + 1} of ${header.variableRecordCount} at byte ${begin + at} runs past ` +
        `${past}; it and those after it were ignored.`,
      );
      break;
    }
    records.push({
      userId: fixedText(bytes.subarray(at + 2, at + 18)),
      recordId: view.getUint16(at + 18, true),
      begin: begin + at + RECORD_HEADER,
      length,
    });
    at += RECORD_HEADER + length;
  }
  return records;
}

/** Walks the extended records behind the points (from version 1.4). */
export async function findExtendedRecords(source: ByteSource, header: LasHeader, notes: string[]): Promise<VariableRecord[]> {
  const records: VariableRecord[] = [];
  let at = header.extendedRecordOffset;
  if (header.extendedRecordCount === 0) return records;
  while (records.length < Math.min(header.extendedRecordCount, MAXIMUM_EXTENDED)) {
    const head = at >= header.headerSize && at + EXTENDED_HEADER <= source.size ? await source.read(at, at + EXTENDED_HEADER) : null;
    const length = head === null ? 0 : Number(new DataView(head.buffer, head.byteOffset).getBigUint64(20, true));
    if (head === null || at + EXTENDED_HEADER + length > source.size) {
      notes.push(
        `Extended record ${records.length + 1} of ${header.extendedRecordCount} at byte ${at} does not lie inside the file ` +
        `of ${source.size} bytes; it and those after it were ignored.`,
      );
      break;
    }
    records.push({
      userId: fixedText(head.subarray(2, 18)),
      recordId: head[18]! | (head[19]! << 8),
      begin: at + EXTENDED_HEADER,
      length,
    });
    at += EXTENDED_HEADER + length;
  }
  return records;
}

/** Contents of a record, in a buffer of its own, so that numbers in it may be read as typed arrays. */
export async function readRecord(source: ByteSource, record: VariableRecord): Promise<Uint8Array> {
  if (record.length > MAXIMUM_CONTENTS) {
    throw new InputError(source.name, `record ${record.userId} ${record.recordId} at byte ${record.begin} has ${record.length} bytes, expected at most ${MAXIMUM_CONTENTS}.`);
  }
  return (await source.read(record.begin, record.begin + record.length)).slice();
}
