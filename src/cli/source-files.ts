import { existsSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type { RoofRecord } from '../roof/record.ts';
import type { SourceHandle } from '../survey/source-handle.ts';
import type { TaskRunner } from '../survey/task-runner.ts';
import { InputError } from '../units/input-error.ts';

/** Files a record was made from, as far as they are at hand. */
export interface FoundSources {
  /** The record's own files and any others that were given. */
  readonly files: readonly SourceHandle[];
  /** What is missing or not the same, one sentence each. */
  readonly notes: readonly string[];
}

/**
 * Finds the files a record was made from, by their SHA-256: among those given, or by name beside the record and in the
 * current folder.
 *
 * @throws InputError when files were given and none of them is one the record was made from.
 */
export async function findSources(record: RoofRecord, recordPath: string, given: readonly string[], runner: TaskRunner): Promise<FoundSources> {
  const handles = (given.length > 0 ? given : namedBeside(record, recordPath)).map((path): SourceHandle => ({ name: basename(path), where: path }));
  const hashes = new Map<string, SourceHandle>();
  for (const file of handles) hashes.set(await runner.run('hash-file', { file }), file);
  const missing = record.sources.filter(({ sha256 }) => !hashes.has(sha256)).map(({ file }) => file);
  if (given.length > 0 && missing.length === record.sources.length) {
    throw new InputError('--files', `none of ${handles.map(({ name }) => name).join(', ')} is a file the record was made from (${missing.join(', ')}).`);
  }
  const own = new Set(record.sources.map(({ sha256 }) => sha256));
  const files = given.length > 0 ? handles : [...hashes].filter(([hash]) => own.has(hash)).map(([, file]) => file);
  return { files, notes: missing.length > 0 ? [missingNote(missing, record.sources.length)] : [] };
}

/** Path of each source that stands beside the record or in the current folder. */
function namedBeside(record: RoofRecord, recordPath: string): string[] {
  return record.sources.flatMap(({ file }) => {
    const found = [join(dirname(recordPath), basename(file)), basename(file)].find((path) => existsSync(path));
    return found === undefined ? [] : [found];
  });
}

const missingNote = (missing: readonly string[], all: number): string =>
  `${missing.length} of ${all} files the record was made from ${missing.length === 1 ? 'is' : 'are'} not at hand or changed since (${missing.slice(0, 3).join(', ')}${missing.length > 3 ? ', …' : ''}).`;
