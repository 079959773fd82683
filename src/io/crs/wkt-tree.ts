/** One `KEYWORD[ … ]` of a well-known text; values are texts, numbers and bare words in their order. */
export interface WktNode {
  /** Upper case. */
  readonly keyword: string;
  readonly values: readonly (string | number)[];
  readonly children: readonly WktNode[];
}

const MAXIMUM_DEPTH = 64;

/**
 * Reads well-known text of either generation (OGC 01-009, ISO 19162) into a tree, without judging its words.
 * Square and round brackets are equal, as both standards say; a doubled quote inside a text is a quote.
 *
 * @returns null when the brackets or quotes do not close, or when there is no keyword at the start.
 */
export function parseWkt(text: string): WktNode | null {
  const reader = { text, at: 0 };
  skipBlank(reader);
  return readNode(reader, 0);
}

interface Reader {
  readonly text: string;
  at: number;
}

function readNode(reader: Reader, depth: number): WktNode | null {
  const keyword = readWord(reader);
  skipBlank(reader);
  if (keyword === '' || depth > MAXIMUM_DEPTH || !isOpening(reader.text[reader.at])) return null;
  reader.at++;
  const values: (string | number)[] = [];
  const children: WktNode[] = [];
  for (;;) {
    skipBlank(reader);
    const next = reader.text[reader.at];
    if (next === undefined) return null;
    if (next === ']' || next === ')') break;
    if (next === ',') {
      reader.at++;
    } else if (next === '"') {
      const quoted = readQuoted(reader);
      if (quoted === null) return null;
      values.push(quoted);
    } else if (!readMember(reader, depth, values, children)) {
      return null;
    }
  }
  reader.at++;
  return { keyword: keyword.toUpperCase(), values, children };
}

/** A nested node, a number or a bare word (`EAST`). */
function readMember(reader: Reader, depth: number, values: (string | number)[], children: WktNode[]): boolean {
  const start = reader.at;
  const word = readWord(reader);
  if (word === '') return false;
  skipBlank(reader);
  if (isOpening(reader.text[reader.at])) {
    reader.at = start;
    const child = readNode(reader, depth + 1);
    if (child === null) return false;
    children.push(child);
    return true;
  }
  const number = Number(word);
  values.push(Number.isFinite(number) ? number : word);
  return true;
}

function readWord(reader: Reader): string {
  const start = reader.at;
  while (/[\w.+-]/.test(reader.text[reader.at] ?? '')) reader.at++;
  return reader.text.slice(start, reader.at);
}

function readQuoted(reader: Reader): string | null {
  let value = '';
  for (let at = reader.at + 1; at < reader.text.length; at++) {
    if (reader.text[at] !== '"') {
      value += reader.text[at];
    } else if (reader.text[at + 1] === '"') {
      value += '"';
      at++;
    } else {
      reader.at = at + 1;
      return value;
    }
  }
  return null;
}

function skipBlank(reader: Reader): void {
  while (/\s/.test(reader.text[reader.at] ?? '')) reader.at++;
}

const isOpening = (character: string | undefined): boolean => character === '[' || character === '(';
