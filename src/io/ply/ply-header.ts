import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';

export type PlyType = 'int8' | 'uint8' | 'int16' | 'uint16' | 'int32' | 'uint32' | 'float32' | 'float64';

export interface PlyProperty {
  readonly name: string;
  readonly type: PlyType;
  /** Type of the count in front of a list; null for a single number. */
  readonly countType: PlyType | null;
}

export interface PlyElement {
  readonly name: string;
  readonly count: number;
  readonly properties: readonly PlyProperty[];
}

export interface PlyHeader {
  readonly encoding: 'ascii' | 'little' | 'big';
  readonly elements: readonly PlyElement[];
  readonly comments: readonly string[];
  /** First byte after the header. */
  readonly bodyAt: number;
  readonly notes: readonly string[];
}

const TYPES: Readonly<Record<string, PlyType>> = {
  char: 'int8', uchar: 'uint8', short: 'int16', ushort: 'uint16', int: 'int32', uint: 'uint32', float: 'float32', double: 'float64',
  int8: 'int8', uint8: 'uint8', int16: 'int16', uint16: 'uint16', int32: 'int32', uint32: 'uint32', float32: 'float32', float64: 'float64',
};
const ENCODINGS: Readonly<Record<string, PlyHeader['encoding']>> = {
  ascii: 'ascii', binary_little_endian: 'little', binary_big_endian: 'big',
};
/** [bytes] */
const LONGEST_HEADER = 1 << 20;
const FIRST_GUESS = 1 << 13;

/** Reads the header of a PLY file (G. Turk 1994, "The PLY Polygon File Format"). */
export async function readPlyHeader(source: ByteSource): Promise<PlyHeader> {
  for (let size = FIRST_GUESS; ; size *= 8) {
    const bytes = await source.read(0, Math.min(size, source.size));
    const header = parsePlyHeader(bytes, source.name);
    if (header) return header;
    if (bytes.length === source.size || size >= LONGEST_HEADER) {
      throw new InputError(source.name, `the header has no end_header line within ${bytes.length} bytes, expected a PLY header.`);
    }
  }
}

/**
 * The header is bytes: a comment may be in any encoding, so lines are found as bytes and only then made text.
 *
 * @returns null when the bytes end before the header does.
 */
export function parsePlyHeader(bytes: Uint8Array, name: string): PlyHeader | null {
  const lineEnd = firstLineEnd(bytes, name);
  if (lineEnd === null) return null;
  let encoding: PlyHeader['encoding'] | null = null;
  const elements: { name: string; count: number; properties: PlyProperty[] }[] = [];
  const comments: string[] = [];
  const notes: string[] = [];
  for (let start = 0; ; ) {
    const end = bytes.indexOf(lineEnd.last, start);
    if (end < 0) {
      // An empty body may follow at once, without a line end.
      if (asText(bytes.subarray(start)).trim() !== 'end_header') return null;
      return finished(bytes.length);
    }
    const line = asText(bytes.subarray(start, end)).trim();
    const words = line.split(/\s+/);
    start = end + 1;
    switch (words[0]) {
      case 'ply':
      case '':
        break;
      case 'format':
        encoding = ENCODINGS[words[1] ?? ''] ?? null;
        if (!encoding) throw new InputError(name, `header line "${line}": expected ascii, binary_little_endian or binary_big_endian.`);
        break;
      case 'comment':
      case 'obj_info':
        comments.push(line.slice(words[0].length).trim());
        break;
      case 'element':
        elements.push({ name: words[1] ?? '', count: elementCount(words[2], line, name), properties: [] });
        break;
      case 'property': {
        const element = elements.at(-1);
        if (!element) throw new InputError(name, `header line "${line}" stands before any element.`);
        element.properties.push(parseProperty(words, line, name));
        break;
      }
      case 'end_header':
        return finished(start);
      default:
        if (notes.length < 5) notes.push(`Header line not understood and left out: "${line.slice(0, 60)}".`);
    }
  }

  function finished(bodyAt: number): PlyHeader {
    if (!encoding) throw new InputError(name, 'the header has no format line, expected ascii, binary_little_endian or binary_big_endian.');
    return { encoding, elements, comments, bodyAt, notes };
  }
}

/** How lines end is seen at the first one, so that a body that starts with the byte of a line feed is left whole. */
function firstLineEnd(bytes: Uint8Array, name: string): { readonly last: number } | null {
  if (asText(bytes.subarray(0, 3)) !== 'ply') throw new InputError(name, 'does not begin with "ply".');
  for (let at = 3; at < bytes.length; at++) {
    if (bytes[at] === 10) return { last: 10 };
    if (bytes[at] === 13) {
      if (at + 1 === bytes.length) return null;
      return { last: bytes[at + 1] === 10 ? 10 : 13 };
    }
  }
  return null;
}

function elementCount(word: string | undefined, line: string, name: string): number {
  const count = Number(word);
  if (word === undefined || !Number.isSafeInteger(count) || count < 0) {
    throw new InputError(name, `header line "${line}": expected a count of 0 or more.`);
  }
  return count;
}

function parseProperty(words: readonly string[], line: string, name: string): PlyProperty {
  const isList = words[1] === 'list';
  const countType = isList ? TYPES[words[2] ?? ''] : null;
  const type = TYPES[words[isList ? 3 : 1] ?? ''];
  const property = words[isList ? 4 : 2];
  if (countType === undefined || type === undefined || property === undefined) {
    throw new InputError(name, `header line "${line}": expected "property <type> <name>" or "property list <type> <type> <name>".`);
  }
  return { name: property, type, countType };
}

function asText(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) text += String.fromCharCode(byte);
  return text;
}
