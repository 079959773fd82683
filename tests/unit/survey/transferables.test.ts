import { expect, it } from 'vitest';
import { buffersOf } from '../../../src/survey/transferables.ts';

it('finds every buffer once, however deep', () => {
  const shared = new Float32Array(4);
  const value = { a: shared, b: [{ c: new Uint8Array(shared.buffer, 4, 4) }, { c: new Uint16Array(2) }], d: 'text', e: null, f: [1, 2, 3] };
  expect(buffersOf(value)).toEqual([shared.buffer, value.b[1]!.c.buffer]);
});

it('leaves memory that several threads share where it is', () => {
  expect(buffersOf({ a: new Uint8Array(new SharedArrayBuffer(4)) })).toEqual([]);
});
