import type { ByteSource } from '../byte-source.ts';

const QUESTION_MARK = 63;

/**
 * A text file in UTF-16 as if it were in ASCII: one byte a code unit, "?" for anything beyond. Numbers and keywords lose
 * nothing; a byte order mark is stepped over, as is that of UTF-8.
 *
 * @returns The source itself when its first bytes are no byte order mark.
 */
export async function withoutByteOrderMark(source: ByteSource): Promise<ByteSource> {
  const head = await source.read(0, Math.min(3, source.size));
  if (head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf) return shifted(source, 3);
  if (head[0] === 0xff && head[1] === 0xfe) return narrowed(source, 0);
  if (head[0] === 0xfe && head[1] === 0xff) return narrowed(source, 1);
  return source;
}

function shifted(source: ByteSource, by: number): ByteSource {
  return { name: source.name, size: source.size - by, read: (begin, end) => source.read(begin + by, end + by) };
}

/** @param low  Place of the low byte in each pair. */
function narrowed(source: ByteSource, low: 0 | 1): ByteSource {
  return {
    name: source.name,
    size: Math.floor((source.size - 2) / 2),
    async read(begin, end) {
      const pairs = await source.read(2 + 2 * begin, 2 + 2 * end);
      const bytes = new Uint8Array(end - begin);
      for (let i = 0; i < bytes.length; i++) {
        const isPlain = pairs[2 * i + 1 - low] === 0 && pairs[2 * i + low]! < 128;
        bytes[i] = isPlain ? pairs[2 * i + low]! : QUESTION_MARK;
      }
      return bytes;
    },
  };
}
