import type { CrsStatement } from '../../site/crs-statement.ts';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import { PointCollector } from '../point-collector.ts';
import type { FileDescription, ReadOptions, SurveyFileReader } from '../survey-file.ts';
import { crsFromComments } from './crs-comment.ts';
import { eachLine, lineBlocks } from './line-blocks.ts';
import { LineTokens } from './line-tokens.ts';
import { cutRow, isComment, sniffLayout, type TextLayout } from './text-layout.ts';
import { withoutByteOrderMark } from './utf16-source.ts';
import { SALVAGE_ADVICE } from '../salvage-advice.ts';

/** Private to this reader. Bytes are counted after a byte order mark. */
interface TextPartDetail {
  readonly begin: number;
  readonly end: number;
  readonly rowCount: number;
  /** Line number of the first line. */
  readonly firstLine: number;
  /** Lines of names and counts at the head of this part that are no rows. */
  readonly layout: TextLayout;
  readonly salvage: boolean;
}

const ROWS_PER_PART = 1_000_000;
const HEAD_SIZE = 256 * 1024;
const NAMES = /\.(xyz|txt|csv|pts|asc|neu|dat|tsv)$/i;

/** Reader of point lists in text: one point a row, x y z first or by named columns. */
export const textReader: SurveyFileReader = {
  recognises: (head, name) => looksLikeText(head) && (NAMES.test(name) || startsWithNumbers(head)),
  describe: describeText,
  async readPoints(source, description, part) {
    const detail = description.parts[part]?.detail as TextPartDetail | undefined;
    if (!detail) throw new RangeError(`${source.name} has ${description.parts.length} parts, got number ${part}.`);
    return readRows(await withoutByteOrderMark(source), detail);
  },
};

/** No byte that text never has; UTF-16 shows itself by its byte order mark. */
function looksLikeText(head: Uint8Array): boolean {
  if ((head[0] === 0xff && head[1] === 0xfe) || (head[0] === 0xfe && head[1] === 0xff)) return true;
  return head.every((byte) => byte >= 32 || byte === 9 || byte === 10 || byte === 13);
}

function startsWithNumbers(head: Uint8Array): boolean {
  return /^\s*[-+]?[\d.,]+(e[-+]?\d+)?[\s,;]+[-+]?[\d.,]+(e[-+]?\d+)?[\s,;]+[-+]?\d/i.test(String.fromCharCode(...head.subarray(0, 200)));
}

async function describeText(original: ByteSource, { salvage }: ReadOptions): Promise<FileDescription> {
  if (original.size === 0) throw new InputError(original.name, 'the file is empty (0 bytes), expected rows "x y z".');
  const source = await withoutByteOrderMark(original);
  const layout = await sniffFile(source);
  const scan = await countRows(source, layout, salvage);
  const notes = [...layout.notes];
  if (layout.hasCounts && scan.promised !== scan.rowCount) {
    const difference = `the file promises ${scan.promised} points and holds ${scan.rowCount}`;
    if (scan.promised > scan.rowCount && !salvage) throw new InputError(source.name, `${difference}. ${SALVAGE_ADVICE}`);
    notes.push(`${difference[0]!.toUpperCase()}${difference.slice(1)}; what is there was read.`);
  }
  const { columns } = layout;
  const also = [columns.colour && 'colour', columns.intensity >= 0 && 'intensity', columns.classification >= 0 && 'class'].filter(Boolean).join(', ');
  return {
    name: source.name,
    format: 'text',
    formatDetail: `point text, x y z${also ? `, ${also}` : ''}`,
    kind: 'points',
    pointCount: scan.rowCount,
    triangleCount: 0,
    bounds: null,
    up: 'z',
    crsStatements: [...crsFromComments(layout.comments), ...(layout.isGeographic ? [GEOGRAPHIC_NAMES] : [])],
    coordinateStep: null,
    parts: scan.parts.map((part) => ({ pointCount: part.rowCount, bounds: null, detail: { ...part, layout, salvage } satisfies TextPartDetail })),
    notes,
  };
}

const GEOGRAPHIC_NAMES: CrsStatement = {
  origin: 'column names', kind: 'geographic', name: 'longitude and latitude', epsg: null, verticalEpsg: null, unitToMetre: null, verticalUnitToMetre: null, wkt: null,
};

async function sniffFile(source: ByteSource): Promise<TextLayout> {
  const bytes = await source.read(0, Math.min(HEAD_SIZE, source.size));
  const lines: [number, number][] = [];
  let whole = 0;
  eachLine(bytes, (start, end) => {
    // The last line of the head may be cut in two.
    if (end === bytes.length && bytes.length < source.size && lines.length > 0) return false;
    if (!isBlankLine(bytes, start, end)) lines.push([start, end]);
    whole++;
    return whole < 2000;
  });
  return sniffLayout(source.name, bytes, lines);
}

const isBlankLine = (bytes: Uint8Array, start: number, end: number): boolean => {
  for (let at = start; at < end; at++) if (bytes[at] !== 32 && bytes[at] !== 9) return false;
  return true;
};

/** A line of one whole number among rows of several: the count of the next scan. */
function isCountLine(bytes: Uint8Array, start: number, end: number): boolean {
  let digits = 0;
  for (let at = start; at < end; at++) {
    const byte = bytes[at]!;
    if (byte >= 48 && byte <= 57) digits++;
    else if (byte !== 32 && byte !== 9) return false;
    else if (digits > 0 && at + 1 < end && bytes[at + 1]! >= 48 && bytes[at + 1]! <= 57) return false;
  }
  return digits > 0;
}

interface RowScan {
  readonly rowCount: number;
  readonly promised: number;
  readonly parts: readonly { readonly begin: number; readonly end: number; readonly rowCount: number; readonly firstLine: number }[];
}

/** Counts rows without reading their numbers, and marks where parts begin. */
async function countRows(source: ByteSource, layout: TextLayout, salvage: boolean): Promise<RowScan> {
  const begins: { begin: number; firstLine: number }[] = [];
  let rowCount = 0;
  let promised = 0;
  let headerLeft = layout.headerLines;
  let lineNumber = 0;
  for await (const { bytes, offset } of lineBlocks(source, 0, source.size)) {
    eachLine(bytes, (start, end) => {
      lineNumber++;
      if (isBlankLine(bytes, start, end) || isComment(bytes, start)) return;
      if (layout.hasCounts && isCountLine(bytes, start, end)) {
        promised += Number(new TextDecoder().decode(bytes.subarray(start, end)));
      } else if (headerLeft > 0) {
        headerLeft--;
      } else {
        if (rowCount % ROWS_PER_PART === 0) begins.push({ begin: offset + start, firstLine: lineNumber });
        rowCount++;
      }
    });
  }
  if (rowCount === 0 && !salvage) throw new InputError(source.name, 'holds no row of numbers, expected rows "x y z".');
  const parts = begins.map(({ begin, firstLine }, part) => ({
    begin,
    firstLine,
    end: begins[part + 1]?.begin ?? source.size,
    rowCount: Math.min(ROWS_PER_PART, rowCount - part * ROWS_PER_PART),
  }));
  return { rowCount, promised, parts };
}

async function readRows(source: ByteSource, { begin, end, rowCount, firstLine, layout, salvage }: TextPartDetail): Promise<PointBatch> {
  const { columns, cut } = layout;
  const { colour, intensity, classification } = columns;
  const points = new PointCollector({ colours: colour !== null, intensity: intensity >= 0, classification: classification >= 0 }, rowCount);
  const tokens = new LineTokens();
  const [x, y, z] = columns.position;
  const needed = Math.max(x, y, z, ...(colour ?? []), intensity, classification) + 1;
  const number = (column: number): number => tokens.number(column, cut.decimalComma);
  let lineNumber = firstLine - 1;
  const visit = (bytes: Uint8Array, start: number, stop: number): void => {
    lineNumber++;
    if (isBlankLine(bytes, start, stop) || isComment(bytes, start)) return;
    if (layout.hasCounts && isCountLine(bytes, start, stop)) return;
    cutRow(tokens, cut, bytes, start, stop);
    if (tokens.count < needed) return refuse(`${tokens.count} columns, expected at least ${needed}`);
    const bad = [x, y, z].find((column) => Number.isNaN(number(column)));
    if (bad !== undefined) return refuse(`column ${bad + 1} is "${tokens.text(bad).slice(0, 40)}", expected a number`);
    points.position(number(x), number(y), number(z));
    if (colour) points.colour(number(colour[0]) * columns.colourFactor, number(colour[1]) * columns.colourFactor, number(colour[2]) * columns.colourFactor);
    if (intensity >= 0) points.intensityOf(number(intensity) * columns.intensityFactor + columns.intensityOffset);
    if (classification >= 0) points.classOf(number(classification));
  };
  const refuse = (problem: string): void => {
    if (!salvage) throw new InputError(source.name, `line ${lineNumber}: ${problem}. ${SALVAGE_ADVICE}`);
  };
  for await (const { bytes } of lineBlocks(source, begin, end)) eachLine(bytes, (start, stop) => visit(bytes, start, stop));
  return points.finish();
}
