import { createHash } from 'node:crypto';
import { createReadStream, openSync, read, statSync } from 'node:fs';
import { basename } from 'node:path';
import { promisify } from 'node:util';
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
    if (!facts.isFile()) throw new InputError(path, 'is a folder, expected a file.');
    return facts.size;
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw new InputError(path, `cannot be opened (${(error as NodeJS.ErrnoException).code ?? String(error)}).`);
  }
}

async function hashFile(path: string, onProgress?: (fraction: number) => void): Promise<string> {
  const size = sizeOf(path);
  const digest = createHash('sha256');
  let done = 0;
  for await (const slice of createReadStream(path, { highWaterMark: 4 * 1024 * 1024 })) {
    digest.update(slice as Uint8Array);
    done += (slice as Uint8Array).length;
    onProgress?.(done / size);
  }
  return digest.digest('hex');
}

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
  };
}
