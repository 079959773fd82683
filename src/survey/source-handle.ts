import type { ByteSource } from '../io/byte-source.ts';

/** A file as it crosses threads: a Blob in the page, a path under Node, bytes in tests. */
export interface SourceHandle {
  readonly name: string;
  readonly where: Blob | Uint8Array | string;
  /** Materials and pictures that were opened with it. */
  readonly beside?: readonly SourceHandle[];
}

/** What differs between a page and Node, handed in by whoever starts the work. */
export interface Environment {
  open(handle: SourceHandle): ByteSource;
  /** SHA-256 of the whole file, 64 hexadecimal digits. */
  hash(handle: SourceHandle, onProgress?: (fraction: number) => void): Promise<string>;
  /** Frees at once what nothing in this thread refers to any more, where the platform lets one ask. */
  collect?(): void;
}
