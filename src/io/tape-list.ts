import { InputError } from '../units/input-error.ts';
import { parseLength } from '../units/parse-length.ts';
import { writtenDown, writtenFault } from '../units/written-down.ts';
import { deviceSigma, TAPE_DEVICES, type TapeDevice } from '../site/tape-device.ts';
import { TAPE_KINDS, type TapeConditions, type TapeKind, type TapeReading } from '../site/tape-reading.ts';
import type { Vector3 } from '../geometry/vector.ts';
import { parseCsv } from './csv.ts';

/** A list of readings: the good rows, and one sentence for each bad one. */
export interface TapeList {
  readonly readings: readonly TapeReading[];
  /** `row 7, column unit: "foot" is not known, expected m, mm, ft, ft-in or deg`. */
  readonly faults: readonly string[];
}

/** How a tape was used: column, field, and the limits within which a figure can be true. */
const CONDITION_COLUMNS = [
  ['rise_m', 'riseM', -50, 50],
  ['angle_deg', 'angleDeg', -85, 85],
  ['temperature_c', 'temperatureC', -40, 80],
  ['tension_n', 'tensionN', 5, 500],
  ['span_m', 'spanM', 0.5, 100],
  ['mass_kg_m', 'massKgPerM', 0.001, 0.2],
  ['section_mm2', 'sectionMm2', 0.2, 30],
  ['standard_temperature_c', 'standardTemperatureC', 0, 40],
  ['standard_tension_n', 'standardTensionN', 0, 300],
] as const satisfies readonly (readonly [string, keyof TapeConditions, number, number])[];

const COLUMNS = ['id', 'kind', 'x1', 'y1', 'z1', 'x2', 'y2', 'z2', 'value', 'unit', 'sigma_m', 'by', 'at', 'note', 'device', 'held', ...CONDITION_COLUMNS.map(([column]) => column), 'written'] as const;
type Column = (typeof COLUMNS)[number];
const NEEDED: readonly Column[] = ['id', 'kind', 'value', 'unit'];
/** Columns that speak of a distance between two ends only. */
const OF_DISTANCES: readonly Column[] = ['held', 'rise_m', 'angle_deg', 'span_m'];

/** Columns that hold no number. */
const WORDS: readonly Column[] = ['id', 'kind', 'unit', 'by', 'at', 'note', 'device', 'held', 'written'];
const DECIMAL_COMMA = /^([-+]?\d+),(\d+)$/;

/** Header of a list with everything that may be said of a reading. */
export const TAPE_LIST_HEADER = COLUMNS.join(',');

const METRES_PER_FOOT = 0.3048;
/** What is taken where a row names neither a sigma nor an instrument: a hand-held steel tape read on a roof, 5 mm; an inclinometer, 0.2 degrees. Common practice, no source. */
const DEFAULT_SIGMA_M = 0.005;
const DEFAULT_SIGMA_DEG = 0.2;

/** A row's fault; becomes one sentence of the list. */
class RowFault extends Error {}

/**
 * Reads a list of tape, level, inclinometer and checkpoint readings: CSV (RFC 4180) with the header
 * `id,kind,x1,y1,z1,x2,y2,z2,value,unit,sigma_m,by,at,note`, and after it, in any order, what is known of the instrument
 * and how it was used (`TAPE_LIST_HEADER`); `written` keeps a length as it was written down on site. A pitch has unit `deg`; its `sigma_m` column is in degrees.
 *
 * @throws InputError when the header lacks a column, or no row can be used.
 */
export function readTapeList(text: string, name: string): TapeList {
  // Where semicolons part the cells, a comma is a decimal point: spreadsheets write so in many countries.
  const commaIsPoint = /^[^\r\n]*;/.test(text);
  const [header, ...rows] = parseCsv(text.replace(/^\uFEFF/, ''));
  if (!header) throw new InputError(name, 'is empty, expected a header line and readings.');
  const columns = header.map((column) => column.trim().toLowerCase());
  const absent = NEEDED.filter((column) => !columns.includes(column));
  if (absent.length > 0) throw new InputError(name, `row 1: column ${absent.join(', ')} is missing, expected ${COLUMNS.slice(0, 14).join(',')}.`);
  const readings: TapeReading[] = [];
  const faults: string[] = columns.filter((column) => column !== '' && !COLUMNS.includes(column as Column)).map((column) => `row 1, column ${column}: is not known and was not read`);
  const seen = new Set<string>();
  rows.forEach((cells, index) => {
    if (cells.every((cell) => cell.trim() === '')) return;
    const cell = (column: Column): string => {
      const written = cells[columns.indexOf(column)]?.trim() ?? '';
      return commaIsPoint && !WORDS.includes(column) ? written.replace(DECIMAL_COMMA, '$1.$2') : written;
    };
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
  if (readings.length === 0) throw new InputError(name, faults.find((fault) => !fault.startsWith('row 1,')) ?? 'holds no reading.');
  return { readings, faults };
}

/** The same list written: what `readTapeList` reads back to the very same readings. */
export function writeTapeList(readings: readonly TapeReading[]): string {
  return [TAPE_LIST_HEADER, ...readings.map((reading) => rowOf(reading).map(quoted).join(','))].join('\r\n') + '\r\n';
}

function rowOf({ id, kind, ends, value, written, sigma, by, at, note, device, conditions = {} }: TapeReading): string[] {
  const places = [0, 1].flatMap((index) => [0, 1, 2].map((axis) => String(ends[index]?.[axis] ?? '')));
  const used = CONDITION_COLUMNS.map(([, field]) => String(conditions[field] ?? ''));
  return [id, kind, ...places, value === null ? '' : String(value), kind === 'pitch' ? 'deg' : 'm', String(sigma), by, at, note, device ?? '', conditions.held ?? '', ...used, written ?? ''];
}

const quoted = (text: string): string => (/[",;\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

type CellOf = (column: Column) => string;

function readRow(cell: CellOf): TapeReading {
  const id = cell('id');
  if (id === '') throw new RowFault('column id: is empty');
  const kind = TAPE_KINDS.find((each) => each === cell('kind'));
  if (!kind) throw new RowFault(`column kind: "${cell('kind')}" is not known, expected ${TAPE_KINDS.join(', ')}`);
  const ends = [endOf(cell, ['x1', 'y1', 'z1']), endOf(cell, ['x2', 'y2', 'z2'])].filter((end): end is Vector3 => end !== null);
  if (kind === 'checkpoint' && ends.length === 0) throw new RowFault('column x1: is empty, a checkpoint needs x1, y1, z1');
  const value = kind === 'checkpoint' ? null : valueOf(kind, cell);
  const device = deviceOf(cell, kind);
  const conditions = conditionsOf(cell, kind, value);
  return {
    id, kind, ends, value, ...writtenOf(cell, value), sigma: sigmaOf(cell, kind, device, value), by: cell('by'), at: cell('at'), note: cell('note'),
    ...(device ? { device } : {}),
    ...(Object.keys(conditions).length > 0 ? { conditions } : {}),
  };
}

/** What was written down: as the list says, or the cell itself where it is not in metres. */
function writtenOf(cell: CellOf, value: number | null): Pick<TapeReading, 'written'> {
  const [unit, said] = [cell('unit'), cell('written')];
  if (value === null || unit === 'deg') {
    if (said !== '') throw new RowFault('column written: is for lengths only');
    return {};
  }
  if (said === '') return writtenDown(cell('value'), unit);
  const fault = writtenFault(said, value);
  if (fault !== null) throw new RowFault(`column written: ${fault}`);
  return { written: said };
}

function sigmaOf(cell: CellOf, kind: TapeKind, device: TapeDevice | undefined, value: number | null): number {
  const text = cell('sigma_m');
  if (text === '') return device ? deviceSigma(device, value ?? 0) : kind === 'pitch' ? DEFAULT_SIGMA_DEG : DEFAULT_SIGMA_M;
  const sigma = number(text, 'sigma_m');
  if (!(sigma > 0)) throw new RowFault(`column sigma_m: ${text} is not above 0`);
  return sigma;
}

function deviceOf(cell: CellOf, kind: TapeKind): TapeDevice | undefined {
  const text = cell('device');
  if (text === '') return undefined;
  const found = TAPE_DEVICES.find(({ device }) => device === text)?.device;
  if (!found) throw new RowFault(`column device: "${text}" is not known, expected ${TAPE_DEVICES.map(({ device }) => device).join(', ')}`);
  if ((found === 'inclinometer') !== (kind === 'pitch')) throw new RowFault(`column device: "${text}" does not read a ${kind}`);
  return found;
}

function conditionsOf(cell: CellOf, kind: TapeKind, value: number | null): TapeConditions {
  for (const column of OF_DISTANCES) if (kind !== 'distance' && cell(column) !== '') throw new RowFault(`column ${column}: does not fit a ${kind}, only a distance`);
  const held = cell('held');
  if (held !== '' && held !== 'slope' && held !== 'level') throw new RowFault(`column held: "${held}" is not known, expected slope or level`);
  const conditions: { -readonly [Field in keyof TapeConditions]: TapeConditions[Field] } = held === '' ? {} : { held };
  for (const [column, field, least, most] of CONDITION_COLUMNS) {
    const text = cell(column);
    if (text === '') continue;
    const figure = number(text, column);
    if (figure < least || figure > most) throw new RowFault(`column ${column}: ${text} is not from ${least} to ${most}`);
    conditions[field] = figure;
  }
  checkTogether(conditions, value);
  return conditions;
}

/** Figures that can only be right together. */
function checkTogether({ spanM, tensionN, massKgPerM, riseM, angleDeg, held }: TapeConditions, value: number | null): void {
  if (spanM !== undefined && (tensionN === undefined || massKgPerM === undefined)) throw new RowFault('column span_m: sag needs tension_n and mass_kg_m as well');
  if (riseM !== undefined && angleDeg !== undefined) throw new RowFault('column angle_deg: a rise is given already, one of the two is enough');
  if (held === 'level' && (riseM !== undefined || angleDeg !== undefined)) throw new RowFault('column held: a tape held level needs no rise and no angle');
  if (riseM !== undefined && value !== null && Math.abs(riseM) >= value) throw new RowFault(`column rise_m: ${riseM} is not less than the length`);
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
