import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import { GrowingArray } from '../growing-array.ts';
import { eachLine, lineBlocks } from '../text/line-blocks.ts';
import { LineTokens } from '../text/line-tokens.ts';
import type { PlyElement, PlyHeader, PlyProperty, PlyType } from './ply-header.ts';

export const TYPE_SIZE: Readonly<Record<PlyType, number>> = {
  int8: 1, uint8: 1, int16: 2, uint16: 2, int32: 4, uint32: 4, float32: 4, float64: 8,
};
/** [bytes] */
const SLICE_SIZE = 4 * 1024 * 1024;

/** One row of an element: its single numbers in the order of its properties (a list leaves its place alone), and one list. */
export interface PlyRow {
  readonly values: Float64Array;
  readonly items: GrowingArray<Float64Array<ArrayBuffer>>;
}

export interface RowRange {
  /** First byte of the first row. */
  readonly begin: number;
  readonly rowCount: number;
}

/**
 * Walks rows of one element in slices of the file.
 *
 * @param listName  The list whose items are wanted; others are stepped over.
 * @param visit  Gets the row's number within the range, the row (reused) and the byte where it begins.
 * @returns Rows found, fewer than asked when the file ends first, and the byte after the last of them.
 */
export function walkRows(
  source: ByteSource,
  header: PlyHeader,
  element: PlyElement,
  range: RowRange,
  listName: string | null,
  visit: (index: number, row: PlyRow, at: number) => void,
): Promise<{ readonly rowCount: number; readonly end: number }> {
  const walk = header.encoding === 'ascii' ? walkText : walkBinary;
  return walk(source, element, range, { properties: element.properties, listName, little: header.encoding !== 'big' }, visit);
}

/** Bytes of a binary row; null when it has a list and rows differ. */
export function fixedRowSize(element: PlyElement): number | null {
  let size = 0;
  for (const { type, countType } of element.properties) {
    if (countType) return null;
    size += TYPE_SIZE[type];
  }
  return size;
}

interface Layout {
  readonly properties: readonly PlyProperty[];
  readonly listName: string | null;
  readonly little: boolean;
}

type Visit = (index: number, row: PlyRow, at: number) => void;

const emptyRow = (layout: Layout): PlyRow => ({
  values: new Float64Array(layout.properties.length),
  items: new GrowingArray<Float64Array<ArrayBuffer>>(Float64Array, 16),
});

async function walkBinary(source: ByteSource, element: PlyElement, range: RowRange, layout: Layout, visit: Visit) {
  const row = emptyRow(layout);
  let at = range.begin;
  let index = 0;
  let sliceSize = SLICE_SIZE;
  while (index < range.rowCount && at < source.size) {
    const bytes = await source.read(at, Math.min(source.size, at + sliceSize));
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    let used = 0;
    while (index < range.rowCount) {
      const next = decodeRow(view, used, layout, row);
      if (next < 0) break;
      visit(index++, row, at + used);
      used = next;
    }
    if (used === 0 && index < range.rowCount) {
      if (at + bytes.length === source.size) break;
      // A row longer than a slice: a list with a wild count, or a very long one.
      sliceSize *= 4;
      if (sliceSize > 1 << 30) throw new InputError(source.name, `byte ${at}: a row of element ${element.name} longer than ${1 << 28} bytes.`);
    }
    at += used;
  }
  return { rowCount: index, end: at };
}

/** @returns Where the next row begins; -1 when this one is not wholly there. */
function decodeRow(view: DataView, start: number, { properties, listName, little }: Layout, row: PlyRow): number {
  let at = start;
  const size = view.byteLength;
  for (let k = 0; k < properties.length; k++) {
    const { type, countType, name } = properties[k]!;
    const width = TYPE_SIZE[type];
    if (countType === null) {
      if (at + width > size) return -1;
      row.values[k] = readNumber(view, at, type, little);
      at += width;
      continue;
    }
    if (at + TYPE_SIZE[countType] > size) return -1;
    const count = Math.max(0, readNumber(view, at, countType, little));
    at += TYPE_SIZE[countType];
    if (at + count * width > size) return -1;
    if (name === listName) {
      row.items.length = 0;
      for (let i = 0; i < count; i++) row.items.push(readNumber(view, at + i * width, type, little));
    }
    at += count * width;
  }
  return at;
}

function readNumber(view: DataView, at: number, type: PlyType, little: boolean): number {
  switch (type) {
    case 'int8': return view.getInt8(at);
    case 'uint8': return view.getUint8(at);
    case 'int16': return view.getInt16(at, little);
    case 'uint16': return view.getUint16(at, little);
    case 'int32': return view.getInt32(at, little);
    case 'uint32': return view.getUint32(at, little);
    case 'float32': return view.getFloat32(at, little);
    case 'float64': return view.getFloat64(at, little);
  }
}

async function walkText(source: ByteSource, element: PlyElement, range: RowRange, layout: Layout, visit: Visit) {
  const row = emptyRow(layout);
  const tokens = new LineTokens();
  let index = 0;
  let end = range.begin;
  if (range.rowCount === 0 || layout.properties.length === 0) return { rowCount: range.rowCount, end };
  for await (const { bytes, offset } of lineBlocks(source, range.begin, source.size)) {
    const used = eachLine(bytes, (start, stop) => {
      tokens.splitAtBlanks(bytes, start, stop);
      if (tokens.count === 0) return true;
      const problem = readTextRow(tokens, layout, row);
      if (problem !== null) {
        // The last line of a file cut short is half a row.
        if (offset + stop === source.size) return false;
        throw new InputError(source.name, `element ${element.name}, row ${index + 1} (byte ${offset + start}): ${problem}.`);
      }
      visit(index++, row, offset + start);
      return index < range.rowCount;
    });
    end = offset + used;
    if (index === range.rowCount) break;
  }
  return { rowCount: index, end };
}

/** @returns What is wrong with the row; null when nothing is. */
function readTextRow(tokens: LineTokens, { properties, listName }: Layout, row: PlyRow): string | null {
  let word = 0;
  for (let k = 0; k < properties.length; k++) {
    const { countType, name } = properties[k]!;
    if (word >= tokens.count) return `${tokens.count} numbers, expected more for property ${name}`;
    const value = tokens.number(word);
    if (Number.isNaN(value) && !/^[+-]?(nan|inf)/i.test(tokens.text(word))) return `property ${name} is "${tokens.text(word)}", expected a number`;
    word++;
    if (countType === null) {
      row.values[k] = value;
      continue;
    }
    if (!(value >= 0) || word + value > tokens.count) return `list ${name} of ${value} items, the row holds ${tokens.count - word} more`;
    if (name === listName) row.items.length = 0;
    for (let i = 0; i < value; i++, word++) if (name === listName) row.items.push(tokens.number(word));
  }
  return null;
}

