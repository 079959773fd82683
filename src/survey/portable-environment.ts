import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { blobSource, bytesSource } from '../io/byte-source.ts';
import type { ByteSource } from '../io/byte-source.ts';
import type { Environment, SourceHandle } from './source-handle.ts';

const SLICE_BYTES = 4 * 1024 * 1024;

function open({ name, where }: SourceHandle): ByteSource {
  if (typeof where === 'string') throw new Error(`${name}: a path can only be opened under Node.`);
  return where instanceof Uint8Array ? bytesSource(name, where) : blobSource(name, where);
}

/** Reads a source slice by slice, so that a file of any size is hashed in little memory. */
async function hashSource(source: ByteSource, onProgress?: (fraction: number) => void): Promise<string> {
  const digest = sha256.create();
  for (let at = 0; at < source.size; at += SLICE_BYTES) {
    const end = Math.min(at + SLICE_BYTES, source.size);
    digest.update(await source.read(at, end));
    onProgress?.(end / source.size);
  }
  return bytesToHex(digest.digest());
}

/** Blobs and bytes, wherever the code runs. */
export const portableEnvironment: Environment = {
  open,
  hash: (handle, onProgress) => hashSource(open(handle), onProgress),
};
