import { InputError } from '../units/input-error.ts';
import { parseLength } from '../units/parse-length.ts';
import { TAPE_KINDS, type TapeKind, type TapeReading } from '../site/tape-reading.ts';
import type { Vector3 } from '../geometry/vector.ts';
import { parseCsv } from './csv.ts';

/** A list of readings: the good rows, and one sentence for each bad one. */
export interface TapeList {
  readonly readings: readonly TapeReading[];
  /** `row 7, column unit: "foot" is not known, expected m, mm, ft, ft-in or deg`. */
  readonly faults: readonly string[];
}

const COLUMNS = ['id', 'kind', 'x1', 'y1', 'z1', 'x2', 'y2', 'z2', 'value', 'unit', 'sigma_m', 'by', 'at', 'note'] as const;
type Column = (typeof COLUMNS)[number];
const NEEDED: readonly Column[] = ['id', 'kind', 'value', 'unit'];

const METRES_PER_FOOT = 0.3048;
/** What is taken where a row states none: a hand-held steel tape read on a roof, 5 mm; an inclinometer, 0.2 degrees. Common practice, no source. */
const DEFAULT_SIGMA_M = 0.005;
const DEFAULT_SIGMA_DEG = 0.2;

/** A row's fault; becomes one sentence of the list. */
class RowFault extends Error {}

/**
 * Reads a list of tape, level, inclinometer and checkpoint readings: CSV (RFC 4180) with the header
 * `id,kind,x1,y1,z1,x2,y2,z2,value,unit,sigma_m,by,at,note`. A pitch has unit `deg`; its `sigma_m` column is in degrees.
 *
 * @throws InputError when the header lacks a column, or no row can be used.
 */
export function readTapeList(text: string, name: string): TapeList {
  const [header, ...rows] = parseCsv(text.replace(/^\uFEFF/, ''));
  if (!header) throw new InputError(name, 'is empty, expected a header line and readings.');
  const columns = header.map((column) => column.trim().toLowerCase());
  const absent = NEEDED.filter((column) => !columns.includes(column));
  if (absent.length > 0) throw new InputError(name, `row 1: column ${absent.join(', ')} is missing, expected ${COLUMNS.join(',')}.`);
  const readings: TapeReading[] = [];
  const faults: string[] = [];
  const seen = new Set<string>();
  rows.forEach((cells, index) => {
    if (cells.every((cell) => cell.trim() === '')) return;
    const cell = (column: Column): string => cells[columns.indexOf(column)]?.trim() ?? '';
    try {
      const reading = readRow(cell);
      if (seen.has(reading.id)) throw new RowFault(`column id: "${reading.id}" stands twice`);
      seen.add(reading.id);
      readings.push(reading);
    } catch (error) {
      if (!(error instanceof RowFault)) throw error;
      faults.push(`row ${index + 2}, ${error.message}`);
    }
  });
  if (readings.length === 0) throw new InputError(name, faults[0] ?? 'holds no reading.');
  return { readings, faults };
}

type CellOf = (column: Column) => string;

function readRow(cell: CellOf): TapeReading {
  const id = cell('id');
  if (id === '') throw new RowFault('column id: is empty');
  const kind = TAPE_KINDS.find((each) => each === cell('kind'));
  if (!kind) throw new RowFault(`column kind: "${cell('kind')}" is not known, expected ${TAPE_KINDS.join(', ')}`);
  const sigmaText = cell('sigma_m');
  const sigma = sigmaText === '' ? (kind === 'pitch' ? DEFAULT_SIGMA_DEG : DEFAULT_SIGMA_M) : number(sigmaText, 'sigma_m');
  if (!(sigma > 0)) throw new RowFault(`column sigma_m: ${sigmaText} is not above 0`);
  const ends = [endOf(cell, ['x1', 'y1', 'z1']), endOf(cell, ['x2', 'y2', 'z2'])].filter((end): end is Vector3 => end !== null);
  if (kind === 'checkpoint' && ends.length === 0) throw new RowFault('column x1: is empty, a checkpoint needs x1, y1, z1');
  return { id, kind, ends, value: kind === 'checkpoint' ? null : valueOf(kind, cell), sigma, by: cell('by'), at: cell('at'), note: cell('note') };
}

function endOf(cell: CellOf, columns: readonly [Column, Column, Column]): Vector3 | null {
  if (columns.every((column) => cell(column) === '')) return null;
  const [x, y, z] = columns.map((column) => number(cell(column), column));
  return [x!, y!, z!];
}

function number(text: string, column: Column): number {
  const value = Number(text);
  if (text === '' || !Number.isFinite(value)) throw new RowFault(`column ${column}: "${text}" is not a number`);
  return value;
}

const UNITS: Readonly<Record<string, (text: string) => number>> = {
  m: (text) => number(text, 'value'),
  mm: (text) => number(text, 'value') / 1000,
  ft: (text) => number(text, 'value') * METRES_PER_FOOT,
  'ft-in': (text) => feetAndInches(text),
  deg: (text) => number(text, 'value'),
};

function valueOf(kind: TapeKind, cell: CellOf): number {
  const unit = cell('unit');
  const read = UNITS[unit];
  if (!read) throw new RowFault(`column unit: "${unit}" is not known, expected m, mm, ft, ft-in or deg`);
  if ((unit === 'deg') !== (kind === 'pitch')) throw new RowFault(`column unit: "${unit}" does not fit a ${kind}`);
  const value = read(cell('value'));
  if (kind === 'distance' && !(value > 0)) throw new RowFault(`column value: ${cell('value')} is not a length above 0`);
  return value;
}

function feetAndInches(text: string): number {
  try {
    return parseLength(text);
  } catch (error) {
    throw new RowFault(`column value: ${error instanceof Error ? error.message : String(error)}`);
  }
}
