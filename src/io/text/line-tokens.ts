import { numberFromBytes } from './number-from-bytes.ts';

const SPACE = 32;
const TAB = 9;
const QUOTE = 34;

/** The words of one line, found without making a string of it; one object serves a whole file. */
export class LineTokens {
  count = 0;
  private starts = new Int32Array(64);
  private ends = new Int32Array(64);
  private bytes: Uint8Array = new Uint8Array(0);

  /** Cuts a line at runs of spaces and tabs. */
  splitAtBlanks(bytes: Uint8Array, start: number, end: number): void {
    this.bytes = bytes;
    this.count = 0;
    for (let at = start; at < end; ) {
      while (at < end && isBlank(bytes[at]!)) at++;
      if (at === end) break;
      const first = at;
      while (at < end && !isBlank(bytes[at]!)) at++;
      this.add(first, at);
    }
  }

  /** Cuts a line at every delimiter; blanks and quotation marks about a word are taken off (RFC 4180), and an empty word counts. */
  splitAt(delimiter: number, bytes: Uint8Array, start: number, end: number): void {
    this.bytes = bytes;
    this.count = 0;
    for (let at = start; at <= end; at++) {
      let first = at;
      while (at < end && bytes[at] !== delimiter && isBlank(bytes[at]!)) at++;
      if (bytes[at] === QUOTE && at < end) {
        at = this.addQuoted(delimiter, at, end);
        continue;
      }
      while (at < end && bytes[at] !== delimiter) at++;
      let last = at;
      while (first < last && isBlank(bytes[first]!)) first++;
      while (last > first && isBlank(bytes[last - 1]!)) last--;
      this.add(first, last);
    }
  }

  /** @param opening  Place of its opening mark. @returns Place of the delimiter behind a quoted word. */
  private addQuoted(delimiter: number, opening: number, end: number): number {
    let closing = opening + 1;
    while (closing < end && this.bytes[closing] !== QUOTE) closing++;
    this.add(opening + 1, closing);
    let at = closing;
    while (at < end && this.bytes[at] !== delimiter) at++;
    return at;
  }

  /** NaN for a word that is no number. */
  number(index: number, decimalComma = false): number {
    return numberFromBytes(this.bytes, this.starts[index]!, this.ends[index]!, decimalComma);
  }

  /** The number in front of a byte (a slash) inside a word, or of the whole word where it has none. */
  numberUpTo(delimiter: number, index: number): number {
    let end = this.starts[index]!;
    while (end < this.ends[index]! && this.bytes[end] !== delimiter) end++;
    return numberFromBytes(this.bytes, this.starts[index]!, end);
  }

  /** The number behind the first delimiter of a word, up to the next one; NaN without. */
  numberBehind(delimiter: number, index: number): number {
    const stop = this.ends[index]!;
    let start = this.starts[index]!;
    while (start < stop && this.bytes[start] !== delimiter) start++;
    let end = ++start;
    while (end < stop && this.bytes[end] !== delimiter) end++;
    return end > start && start < stop ? numberFromBytes(this.bytes, start, end) : NaN;
  }

  text(index: number): string {
    let text = '';
    for (let at = this.starts[index]!; at < this.ends[index]!; at++) text += String.fromCharCode(this.bytes[at]!);
    return text;
  }

  /** First byte of a word. */
  start(index: number): number {
    return this.starts[index]!;
  }

  private add(start: number, end: number): void {
    if (this.count === this.starts.length) {
      this.starts = grown(this.starts);
      this.ends = grown(this.ends);
    }
    this.starts[this.count] = start;
    this.ends[this.count++] = end;
  }
}

const isBlank = (byte: number): boolean => byte === SPACE || byte === TAB || byte === 0;

function grown(array: Int32Array<ArrayBuffer>): Int32Array<ArrayBuffer> {
  const larger = new Int32Array(array.length * 2);
  larger.set(array);
  return larger;
}
