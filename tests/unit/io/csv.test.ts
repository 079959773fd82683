import { expect, it } from 'vitest';
import { parseCsv } from '../../../src/io/csv.ts';

// RFC 4180, section 2, rules 1 to 7.
it('reads quoted cells with separators, line ends and doubled quotes', () => {
  expect(parseCsv('a,b\r\n"x,y","say ""so"""\n"two\nlines",\n')).toEqual([['a', 'b'], ['x,y', 'say "so"'], ['two\nlines', '']]);
});

it('takes semicolons where the first line has them', () => expect(parseCsv('a;b\n1,5;2')).toEqual([['a', 'b'], ['1,5', '2']]));

it('reads a last line without an end, and nothing from nothing', () => {
  expect(parseCsv('a,b')).toEqual([['a', 'b']]);
  expect(parseCsv('')).toEqual([]);
});
