import { createHash } from 'node:crypto';
import { openSync, read, statSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { basename } from 'node:path';
import { promisify } from 'node:util';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { InputError } from '../units/input-error.ts';
import type { ByteSource } from '../io/byte-source.ts';
import { portableEnvironment } from '../survey/portable-environment.ts';
import type { Environment, SourceHandle } from '../survey/source-handle.ts';

const readAt = promisify(read);

/**
 * A file on disk, read at any place. It is opened at the first read and stays open to the end of the process: a survey
 * reads the same few files over and over.
 */
function fileSource(path: string): ByteSource {
  let descriptor: number | null = null;
  return {
    name: basename(path),
    size: sizeOf(path),
    async read(begin, end) {
      descriptor ??= openSync(path, 'r');
      const bytes = new Uint8Array(end - begin);
      let filled = 0;
      while (filled < bytes.length) {
        const { bytesRead } = await readAt(descriptor, bytes, filled, bytes.length - filled, begin + filled);
        if (bytesRead === 0) throw new InputError(path, `ended at byte ${begin + filled} while it was being read.`);
        filled += bytesRead;
      }
      return bytes;
    },
  };
}

function sizeOf(path: string): number {
  try {
    const facts = statSync(path);
    if (!facts.isFile()) throw new InputError(path, `is ${facts.isDirectory() ? 'a folder' : 'no plain file'}, expected a file.`);
    return facts.size;
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw new InputError(path, `cannot be opened (${(error as NodeJS.ErrnoException).code ?? String(error)}).`);
  }
}

/** Bytes hashed in one go. A stream would take new memory for each. */
const HASHED_AT_ONCE = 4 * 1024 * 1024;

async function hashFile(path: string, onProgress?: (fraction: number) => void): Promise<string> {
  const size = sizeOf(path);
  const digest = createHash('sha256');
  const slice = new Uint8Array(Math.min(size, HASHED_AT_ONCE));
  const file = await open(path);
  try {
    for (let done = 0; ; ) {
      const { bytesRead } = await file.read(slice, 0, slice.length, done);
      if (bytesRead === 0) break;
      digest.update(slice.subarray(0, bytesRead));
      done += bytesRead;
      onProgress?.(Math.min(1, done / size));
    }
  } finally {
    await file.close();
  }
  return digest.digest('hex');
}

/** V8's own collector, as it is offered to those who ask for it. */
export const collectGarbage: () => void = (() => {
  setFlagsFromString('--expose-gc');
  return runInNewContext('gc') as () => void;
})();

/** Paths on disk besides what every environment can open; sources are kept, so a worker opens each file once. */
export function nodeEnvironment(): Environment {
  const opened = new Map<string, ByteSource>();
  return {
    open(handle: SourceHandle) {
      const { where } = handle;
      if (typeof where !== 'string') return portableEnvironment.open(handle);
      const known = opened.get(where);
      if (known) return known;
      const source = fileSource(where);
      opened.set(where, source);
      return source;
    },
    hash: (handle, onProgress) =>
      typeof handle.where === 'string' ? hashFile(handle.where, onProgress) : portableEnvironment.hash(handle, onProgress),
    collect: collectGarbage,
  };
}
