import { describe, expect, it } from 'vitest';
import { eachLine, lineBlocks } from '../../../../src/io/text/line-blocks.ts';
import { textSource } from '../../../fixtures/read-source.ts';

async function linesOf(text: string, sliceSize: number): Promise<string[]> {
  const lines: string[] = [];
  for await (const { bytes, offset } of lineBlocks(textSource('t', text), 0, text.length, sliceSize)) {
    eachLine(bytes, (start, end) => {
      const line = String.fromCharCode(...bytes.subarray(start, end));
      expect(text.slice(offset + start, offset + end)).toBe(line);
      lines.push(line);
    });
  }
  return lines;
}

describe('lines of a file in slices', () => {
  it.each(['\n', '\r\n', '\r'])('gives the same lines for any slice size when they end in %j', async (lineEnd) => {
    const lines = ['1 2 3', 'a longer line than the slice', '', 'last'];
    for (const closing of ['', lineEnd]) {
      const text = lines.join(lineEnd) + closing;
      for (let size = 1; size <= text.length + 1; size++) {
        // A carriage return at the end of a slice may be seen apart from its line feed: blank lines mean nothing.
        expect((await linesOf(text, size)).filter((line) => line !== ''), `slices of ${size}`).toEqual(lines.filter((line) => line !== ''));
      }
    }
  });

  it('stops where the visitor says, and tells where the next line begins', () => {
    const bytes = Uint8Array.from('a\nb\nc\n', (character) => character.charCodeAt(0));
    let seen = 0;
    expect(eachLine(bytes, () => ++seen < 2)).toBe(4);
  });
});
