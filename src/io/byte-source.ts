/** Random access to the bytes of a file, wherever they are; the only thing a reader may ask for. */
export interface ByteSource {
  /** File name without folder. */
  readonly name: string;
  /** [bytes] */
  readonly size: number;
  /**
   * @param begin  First byte. @param end  One past the last; at most `size`.
   * @returns Exactly `end - begin` bytes.
   */
  read(begin: number, end: number): Promise<Uint8Array>;
}

/** A whole small file in memory. */
export function bytesSource(name: string, bytes: Uint8Array): ByteSource {
  return {
    name,
    size: bytes.length,
    read: async (begin, end) => bytes.subarray(begin, end),
  };
}

/** A Blob or File, read by slices. */
export function blobSource(name: string, blob: Blob): ByteSource {
  return {
    name,
    size: blob.size,
    read: async (begin, end) => new Uint8Array(await blob.slice(begin, end).arrayBuffer()),
  };
}
