import { InputError } from '../../units/input-error.ts';
import { LineTokens } from './line-tokens.ts';

/** How a row of a point list is cut into words. */
export interface RowCut {
  /** Byte between words; null for runs of blanks. */
  readonly delimiter: number | null;
  readonly decimalComma: boolean;
}

/** Which word of a row holds what; -1 where none does. */
export interface TextColumns {
  readonly position: readonly [number, number, number];
  readonly colour: readonly [number, number, number] | null;
  /** Multiplies a written colour share to 0…255. */
  readonly colourFactor: number;
  readonly intensity: number;
  /** Multiplies and then shifts a written intensity to 0…65535. */
  readonly intensityFactor: number;
  readonly intensityOffset: number;
  readonly classification: number;
}

export interface TextLayout {
  readonly cut: RowCut;
  readonly columns: TextColumns;
  /** Lines before the first row of numbers. */
  readonly headerLines: number;
  /** The first line is a count, as in PTS files, and further counts may follow. */
  readonly hasCounts: boolean;
  /** Column names say that x and y are degrees. */
  readonly isGeographic: boolean;
  readonly comments: readonly string[];
  readonly notes: readonly string[];
}

const COMMA = 44;
const SEMICOLON = 59;
const TAB = 9;
const SAMPLE_ROWS = 500;
const SNIFFED_ROWS = 50;

export const isComment = (bytes: Uint8Array, start: number): boolean => bytes[start] === 35 || (bytes[start] === 47 && bytes[start + 1] === 47);

/** Cuts one line by the layout's rule. */
export function cutRow(tokens: LineTokens, { delimiter }: RowCut, bytes: Uint8Array, start: number, end: number): void {
  if (delimiter === null) tokens.splitAtBlanks(bytes, start, end);
  else tokens.splitAt(delimiter, bytes, start, end);
}

/**
 * Works out how a point list is written, from its first lines.
 *
 * @param lines  Byte ranges of the first lines, blank ones left out, comments included. All within `bytes`.
 * @throws InputError when no line holds three numbers, or names of columns lack x, y or z.
 */
export function sniffLayout(fileName: string, bytes: Uint8Array, lines: readonly (readonly [number, number])[]): TextLayout {
  const comments = lines.filter(([start]) => isComment(bytes, start)).map(([start, end]) => textOf(bytes, start, end).replace(/^(#+|\/\/+)\s*/, ''));
  const rows = lines.filter(([start]) => !isComment(bytes, start));
  const tokens = new LineTokens();
  const hasCounts = rows.length > 1 && isCount(tokens, bytes, rows[0]!) && !isCount(tokens, bytes, rows[1]!);
  const candidates = hasCounts ? rows.slice(1) : rows;
  let first = -1;
  let cut: RowCut = { delimiter: null, decimalComma: false };
  for (const [index, [start, end]] of candidates.entries()) {
    cut = sniffCut(tokens, bytes, [[start, end]]);
    if (numberCount(tokens, cut, bytes, start, end) >= 3) {
      first = index;
      break;
    }
    if (index >= 20) break;
  }
  if (first < 0) throw new InputError(fileName, `none of the first ${Math.min(candidates.length, 21)} lines holds three numbers, expected rows "x y z".`);
  cut = sniffCut(tokens, bytes, candidates.slice(first, first + SNIFFED_ROWS));
  const nameLine = first > 0 ? textOf(bytes, ...candidates[first - 1]!) : comments.findLast((comment) => namesIn(comment, cut) !== null);
  const names = nameLine === undefined ? null : namesIn(nameLine, cut);
  const sample = usualRows(sampleRows(tokens, cut, bytes, candidates.slice(first, first + SAMPLE_ROWS)));
  const notes: string[] = [];
  const columns = names ? namedColumns(fileName, names, sample) : countedColumns(sample, hasCounts, notes);
  if (first > 0 && !names) notes.push(`${first} ${first === 1 ? 'line before the first row of numbers was' : 'lines before the first row of numbers were'} not understood.`);
  return {
    cut,
    columns,
    headerLines: first,
    hasCounts,
    isGeographic: names !== null && names.some((name) => /^(lon|longitude|lat|latitude)$/.test(name)),
    comments,
    notes,
  };
}

function textOf(bytes: Uint8Array, start: number, end: number): string {
  let text = '';
  for (let at = start; at < end; at++) text += String.fromCharCode(bytes[at]!);
  return text;
}

function isCount(tokens: LineTokens, bytes: Uint8Array, [start, end]: readonly [number, number]): boolean {
  tokens.splitAtBlanks(bytes, start, end);
  return tokens.count === 1 && /^\d+$/.test(tokens.text(0));
}

/** Ways to cut a row, the likelier first. */
const CUTS: readonly RowCut[] = [
  { delimiter: SEMICOLON, decimalComma: false },
  { delimiter: SEMICOLON, decimalComma: true },
  { delimiter: TAB, decimalComma: false },
  { delimiter: TAB, decimalComma: true },
  { delimiter: null, decimalComma: false },
  { delimiter: COMMA, decimalComma: false },
  { delimiter: null, decimalComma: true },
];

/** The rule that makes most numbers of some rows: one row may hold whole numbers alone. */
function sniffCut(tokens: LineTokens, bytes: Uint8Array, rows: readonly (readonly [number, number])[]): RowCut {
  let best: RowCut = { delimiter: null, decimalComma: false };
  let most = 0;
  for (const option of CUTS) {
    const count = rows.reduce((sum, [start, end]) => sum + numberCount(tokens, option, bytes, start, end), 0);
    if (count > most) {
      most = count;
      best = option;
    }
  }
  return best;
}

/** Words of a row that are numbers; a name may stand before them. */
function numberCount(tokens: LineTokens, cut: RowCut, bytes: Uint8Array, start: number, end: number): number {
  cutRow(tokens, cut, bytes, start, end);
  let count = 0;
  for (let index = 0; index < tokens.count; index++) if (!Number.isNaN(tokens.number(index, cut.decimalComma))) count++;
  return count;
}

function sampleRows(tokens: LineTokens, cut: RowCut, bytes: Uint8Array, rows: readonly (readonly [number, number])[]): number[][] {
  return rows.map(([start, end]) => {
    cutRow(tokens, cut, bytes, start, end);
    return Array.from({ length: tokens.count }, (_, index) => tokens.number(index, cut.decimalComma));
  });
}

/** The rows that have as many words as most have: neither counts between scans nor a spoilt row decide the layout. */
function usualRows(rows: readonly number[][]): number[][] {
  const tally = new Map<number, number>();
  for (const { length } of rows) tally.set(length, (tally.get(length) ?? 0) + 1);
  const [usual] = [...tally].reduce((best, next) => (next[1] > best[1] ? next : best));
  return rows.filter(({ length }) => length === usual);
}

const X_NAMES = ['x', 'easting', 'east', 'e', 'lon', 'longitude', 'coordx', 'xcoord', 'pointx'];
const Y_NAMES = ['y', 'northing', 'north', 'n', 'lat', 'latitude', 'coordy', 'ycoord', 'pointy'];
const Z_NAMES = ['z', 'height', 'elevation', 'elev', 'h', 'altitude', 'alt', 'coordz', 'zcoord', 'pointz'];
const RED_NAMES = ['r', 'red', 'rf'];
const GREEN_NAMES = ['g', 'green', 'gf'];
const BLUE_NAMES = ['b', 'blue', 'bf'];
const INTENSITY_NAMES = ['i', 'intensity', 'scalarintensity', 'reflectance'];
const CLASS_NAMES = ['class', 'classification', 'c', 'scalarclassification'];

/** Column names of a line, plain and lower case; null when x, y and z are not among them. */
function namesIn(line: string, { delimiter }: RowCut): string[] | null {
  const words = delimiter === null ? line.trim().split(/[\s,;]+/) : line.split(String.fromCharCode(delimiter));
  // A unit in brackets is not part of the name.
  const names = words.map((word) => word.replace(/[[(].*$/, '').toLowerCase().replace(/[^a-z]/g, ''));
  const has = (wanted: readonly string[]): boolean => names.some((name) => wanted.includes(name));
  return has(X_NAMES) && has(Y_NAMES) ? names : null;
}

function namedColumns(fileName: string, names: readonly string[], sample: readonly (readonly number[])[]): TextColumns {
  const find = (wanted: readonly string[]): number => names.findIndex((name) => wanted.includes(name));
  const position = [find(X_NAMES), find(Y_NAMES), find(Z_NAMES)] as const;
  if (position[2] < 0) throw new InputError(fileName, `columns ${names.join(', ')}: none is called z, height or elevation.`);
  const colour = [find(RED_NAMES), find(GREEN_NAMES), find(BLUE_NAMES)] as const;
  return withScales({ position, colour: colour.every((index) => index >= 0) ? colour : null, intensity: find(INTENSITY_NAMES), classification: find(CLASS_NAMES) }, sample);
}

/** Without names, what stands behind x y z is taken by the count of columns where their numbers agree with it. */
function countedColumns(sample: readonly (readonly number[])[], isPts: boolean, notes: string[]): TextColumns {
  const count = sample[0]!.length;
  const isByte = (column: number): boolean => sample.every((row) => Number.isInteger(row[column]) && row[column]! >= 0 && row[column]! <= 255);
  const areBytes = (from: number): boolean => [from, from + 1, from + 2].every(isByte);
  const base = { position: [0, 1, 2] as const, colour: null, intensity: -1, classification: -1 };
  if (count === 7 && areBytes(4)) return withScales({ ...base, intensity: 3, colour: [4, 5, 6] }, sample);
  if (count === 7 && areBytes(3)) return withScales({ ...base, intensity: 6, colour: [3, 4, 5] }, sample);
  if (count === 6 && areBytes(3)) return withScales({ ...base, colour: [3, 4, 5] }, sample);
  if (count === 4 && isPts) return withScales({ ...base, intensity: 3 }, sample);
  if (count > 3) notes.push(count === 4 ? 'Column 4 is not used: no line names it.' : `Columns 4 to ${count} are not used: no line names them.`);
  return withScales(base, sample);
}

function withScales(columns: Pick<TextColumns, 'position' | 'colour' | 'intensity' | 'classification'>, sample: readonly (readonly number[])[]): TextColumns {
  const range = (column: number): [number, number] => {
    const values = sample.map((row) => row[column]!).filter(Number.isFinite);
    return values.length > 0 ? [Math.min(...values), Math.max(...values)] : [0, 0];
  };
  const largest = columns.colour ? Math.max(...columns.colour.map((column) => range(column)[1])) : 0;
  const isFraction = columns.colour !== null && sample.some((row) => columns.colour!.some((column) => !Number.isInteger(row[column])));
  const [low, high] = columns.intensity >= 0 ? range(columns.intensity) : [0, 0];
  // Scanners write −2048 to 2047 in PTS files; others 0 to 1 (common practice, no source).
  const isSigned = low < 0;
  const isShare = !isSigned && high <= 1 && high > 0;
  return {
    ...columns,
    colourFactor: largest > 255 ? 1 / 257 : isFraction && largest <= 1 ? 255 : 1,
    intensityFactor: isSigned ? 16 : isShare ? 65535 : 1,
    intensityOffset: isSigned ? 32768 : 0,
  };
}
