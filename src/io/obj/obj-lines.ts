import type { ByteSource } from '../byte-source.ts';
import { eachLine, lineBlocks } from '../text/line-blocks.ts';
import { LineTokens } from '../text/line-tokens.ts';

const BACKSLASH = 92;
const HASH = 35;

/** One statement of an OBJ file: its words, keyword first. */
export interface ObjLine {
  readonly keyword: string;
  readonly tokens: LineTokens;
  /** Counted from 1 within the range read. */
  readonly lineNumber: number;
  /** First byte of the (physical) line. */
  readonly at: number;
}

/** Visits every statement of a byte range; a line that ends with a backslash goes on in the next one. */
export async function eachObjLine(source: ByteSource, begin: number, end: number, visit: (line: ObjLine) => void): Promise<void> {
  const tokens = new LineTokens();
  const line = { keyword: '', tokens, lineNumber: 0, at: begin };
  let held: Uint8Array[] = [];
  const visitWords = (bytes: Uint8Array, start: number, stop: number): void => {
    tokens.splitAtBlanks(bytes, start, stop);
    if (tokens.count === 0 || bytes[tokens.start(0)] === HASH) return;
    line.keyword = tokens.text(0);
    visit(line);
  };
  for await (const { bytes, offset } of lineBlocks(source, begin, end)) {
    eachLine(bytes, (start, stop) => {
      line.lineNumber++;
      if (held.length === 0) line.at = offset + start;
      if (stop > start && bytes[stop - 1] === BACKSLASH) {
        held.push(bytes.slice(start, stop - 1));
      } else if (held.length > 0) {
        const whole = joined([...held, bytes.subarray(start, stop)]);
        held = [];
        visitWords(whole, 0, whole.length);
      } else {
        visitWords(bytes, start, stop);
      }
    });
  }
  if (held.length > 0) {
    const whole = joined(held);
    visitWords(whole, 0, whole.length);
  }
}

/** Pieces of a continued line, with a blank between them. */
function joined(pieces: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length + 1, 0)).fill(32);
  let at = 0;
  for (const piece of pieces) {
    whole.set(piece, at);
    at += piece.length + 1;
  }
  return whole;
}
