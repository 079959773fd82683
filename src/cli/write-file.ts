import { mkdir, rename, rm, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { InputError } from '../units/input-error.ts';

/** Writes under another name first and renames, so that a file is either the old one or the whole new one. */
export async function writeWholeFile(path: string, content: string | Uint8Array): Promise<void> {
  const temporary = `${path}.part-${process.pid}`;
  try {
    await mkdir(dirname(path), { recursive: true });
    await writeFile(temporary, content);
    await rename(temporary, path);
  } catch (error) {
    await rm(temporary, { force: true });
    throw new InputError(path, `cannot be written (${(error as NodeJS.ErrnoException).code ?? String(error)}).`);
  }
}

export const inFolder = (folder: string, name: string): string => join(folder, name);
