import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { InputError } from '../units/input-error.ts';
import { parseRecord } from '../survey/validate-record.ts';
import type { RoofRecord } from '../roof/record.ts';

/** @throws InputError when the file cannot be read. */
export async function readTextFile(path: string): Promise<string> {
  try {
    return await readFile(path, 'utf8');
  } catch (error) {
    throw new InputError(path, `cannot be read (${(error as NodeJS.ErrnoException).code ?? String(error)}).`);
  }
}

/** @throws InputError when the file is not a valid record. */
export async function readRecordFile(path: string): Promise<RoofRecord> {
  return parseRecord(await readTextFile(path), basename(path));
}
