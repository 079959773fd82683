import { describe, expect, it } from 'vitest';
import { helpOf, parseArguments, type Verb } from '../../../src/cli/verb.ts';

const verb: Verb = {
  name: 'try',
  operands: 'FILE…',
  about: 'A verb to try.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder.' },
    { name: 'height-m', value: 'n', about: 'Height.' },
    { name: 'json', about: 'JSON.' },
  ],
  run: async () => 0,
};

describe('arguments of a verb', () => {
  it('takes operands and flags in any order', () => {
    const args = parseArguments(verb, ['a.las', '--json', 'b.las', '--height-m', '2.5']);
    expect(args.operands).toEqual(['a.las', 'b.las']);
    expect(args.has('json')).toBe(true);
    expect(args.number('height-m')).toBe(2.5);
    expect(args.text('out')).toBeUndefined();
  });

  it('takes a negative value as a value', () => expect(parseArguments(verb, ['--height-m', '-3']).number('height-m')).toBe(-3));

  it.each([
    ['an unknown flag', ['--hight-m', '2'], /hight-m/],
    ['a value for a switch', ['--json=yes'], /json/],
    ['a missing value', ['--out'], /out/],
  ])('refuses %s', (_what, words, message) => expect(() => parseArguments(verb, words)).toThrow(message));

  it.each([
    [['--height-m', 'high'], /"high" is not a number of at least 0/],
    [['--height-m='], /"" is not a number/],
    [['--height-m', '-1'], /not a number of at least 0/],
  ])('refuses the value of %j', (words, message) => {
    expect(() => parseArguments(verb, words).number('height-m', 0)).toThrow(message);
  });

  it('writes its flags into the help', () => {
    const help = helpOf(verb);
    for (const flag of verb.flags) expect(help).toContain(`--${flag.name}`);
    expect(Math.max(...help.split('\n').map((line) => line.length))).toBeLessThanOrEqual(110);
  });
});
