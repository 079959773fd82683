import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';

const top = join(import.meta.dirname, '../..');
export const SAMPLE = join(top, 'sample-data/harbour-works.las');
export const SAMPLE_TRUTH = join(top, 'sample-data/harbour-works.truth.json');

export interface CommandResult {
  readonly status: number | null;
  readonly output: string;
  readonly errors: string;
}

/** Runs the built command as a person would; `npm test` builds it first. */
export function roofdatum(...words: string[]): CommandResult {
  const { status, stdout, stderr } = spawnSync(process.execPath, [join(top, 'dist/node/roofdatum.js'), ...words], {
    encoding: 'utf8',
    maxBuffer: 256 * 1024 * 1024,
    timeout: 120_000,
  });
  return { status, output: stdout, errors: stderr };
}

/** An empty folder that is gone when the test ends. */
export function freshFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'roofdatum-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}
