import { access, constants, mkdir, rename, rm, stat, writeFile } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { InputError } from '../units/input-error.ts';

/** Writes under another name first and renames, so that a file is either the old one or the whole new one. */
export async function writeWholeFile(path: string, content: string | Uint8Array): Promise<void> {
  const temporary = `${path}.part-${process.pid}`;
  try {
    await makeFolder(dirname(resolve(path)));
    await writeFile(temporary, content);
    await rename(temporary, path);
  } catch (error) {
    await rm(temporary, { force: true }).catch(() => undefined);
    throw new InputError(path, `cannot be written (${codeOf(error)}).`);
  }
}

/** Level by level: where a file system refuses with "not found", as /proc does, Node's own recursive form never returns. */
async function makeFolder(folder: string): Promise<void> {
  if (await isFolder(folder)) return;
  if (dirname(folder) !== folder) await makeFolder(dirname(folder));
  await mkdir(folder).catch(async (error: unknown) => {
    // Somebody else may have made it meanwhile.
    if (!(await isFolder(folder))) throw error;
  });
}

/**
 * Says before any work is done that a folder cannot be written to; makes nothing.
 *
 * @throws InputError naming what stands in the way.
 */
export async function checkFolder(folder: string): Promise<void> {
  for (let at = resolve(folder); ; at = dirname(at)) {
    const found = await stat(at).catch((error: unknown) => (['ENOENT', 'ENOTDIR'].includes(codeOf(error)) ? null : codeOf(error)));
    if (found === null) continue;
    if (typeof found === 'string') throw new InputError('--out', `${at} cannot be looked at (${found}).`);
    if (!found.isDirectory()) throw new InputError('--out', `${at} is a file, expected a folder.`);
    await access(at, constants.W_OK).catch((error: unknown) => {
      throw new InputError('--out', `${at} cannot be written to (${codeOf(error)}).`);
    });
    return;
  }
}

const isFolder = (path: string): Promise<boolean> => stat(path).then((facts) => facts.isDirectory(), () => false);

const codeOf = (error: unknown): string => (error as NodeJS.ErrnoException).code ?? String(error);

export const inFolder = (folder: string, name: string): string => join(folder, name);
