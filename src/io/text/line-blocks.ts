import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';

const LINE_FEED = 10;
const CARRIAGE_RETURN = 13;
/** [bytes] */
const SLICE_SIZE = 4 * 1024 * 1024;
/** No line of a survey file is longer; a binary file taken for text may be. [bytes] */
const LONGEST_LINE = 64 * 1024 * 1024;

/** Whole lines of a file as bytes; only the last block of a range may end without a line end. */
export interface LineBlock {
  readonly bytes: Uint8Array;
  /** Place of the first byte in the file. */
  readonly offset: number;
}

/**
 * Reads a range of a file in slices cut at line ends, so that no file is ever held as one string.
 *
 * @param begin  First byte of a line. @param end  One past the last byte wanted.
 * @throws InputError for a line longer than 64 MiB.
 */
export async function* lineBlocks(source: ByteSource, begin: number, end: number, sliceSize = SLICE_SIZE): AsyncGenerator<LineBlock> {
  let rest = new Uint8Array(0);
  let offset = begin;
  for (let at = begin; at < end; ) {
    const next = Math.min(end, at + sliceSize);
    const bytes = joined(rest, await source.read(at, next));
    at = next;
    const cut = at === end ? bytes.length : lastLineEnd(bytes);
    if (cut === 0 && bytes.length > LONGEST_LINE) {
      throw new InputError(source.name, `byte ${offset}: a line longer than ${LONGEST_LINE >> 20} MiB, expected text in lines.`);
    }
    if (cut > 0) yield { bytes: cut === bytes.length ? bytes : bytes.subarray(0, cut), offset };
    offset += cut;
    rest = bytes.slice(cut);
  }
}

/**
 * Calls back for every line of a block; line ends (LF, CRLF or CR) are taken off.
 *
 * @param visit  Gets the first byte and one past the last; a line that gives back false is the last one visited.
 * @returns Where the first line not visited begins.
 */
export function eachLine(bytes: Uint8Array, visit: (start: number, end: number) => boolean | void, from = 0): number {
  let start = from;
  while (start < bytes.length) {
    let end = start;
    while (end < bytes.length && bytes[end] !== LINE_FEED && bytes[end] !== CARRIAGE_RETURN) end++;
    const next = end + (bytes[end] === CARRIAGE_RETURN && bytes[end + 1] === LINE_FEED ? 2 : 1);
    const goOn = visit(start, end);
    start = Math.min(next, bytes.length);
    if (goOn === false) break;
  }
  return start;
}

function joined(a: Uint8Array, b: Uint8Array): Uint8Array<ArrayBuffer> {
  const both = new Uint8Array(a.length + b.length);
  both.set(a);
  both.set(b, a.length);
  return both;
}

/** One past the last line feed; for a file with carriage returns alone, one past the last of them that is not the last byte. */
function lastLineEnd(bytes: Uint8Array): number {
  const feed = bytes.lastIndexOf(LINE_FEED);
  if (feed >= 0) return feed + 1;
  return bytes.length < 2 ? 0 : bytes.lastIndexOf(CARRIAGE_RETURN, bytes.length - 2) + 1;
}
