import type { RoofRecord } from '../roof/record.ts';
import { InputError } from '../units/input-error.ts';
import { validateRecord } from './validate-record.ts';

/**
 * The text of a record: one form for one record, wherever it was made. Numbers keep twelve significant digits,
 * so that the last bits of a sum never show.
 *
 * @throws Error when the record is not valid: nothing invalid is ever written, and it is no mistake of whoever gave the files.
 */
export function recordText(record: RoofRecord): string {
  const rounded = JSON.parse(JSON.stringify(record, roundNumber)) as unknown;
  refuseInvalid(rounded);
  return `${JSON.stringify(rounded, null, 1)}\n`;
}

function refuseInvalid(record: unknown): void {
  try {
    validateRecord(record, 'record');
  } catch (error) {
    throw error instanceof InputError ? new Error(`An invalid record was made: ${error.message}`, { cause: error }) : error;
  }
}

const SIGNIFICANT_DIGITS = 12;

/** Not a display rounding: twelve significant digits keep a micrometre at a northing of 6 000 000 m. */
function roundNumber(_key: string, value: unknown): unknown {
  if (typeof value !== 'number') return value;
  if (!Number.isFinite(value)) throw new Error('A record must not hold a number that is not finite.');
  return Number.isInteger(value) ? value : Number(value.toPrecision(SIGNIFICANT_DIGITS));
}
