import { parseArgs } from 'node:util';
import { InputError } from '../units/input-error.ts';

/** One flag of a verb; the name carries the unit. */
export interface Flag {
  readonly name: string;
  /** How the value is written in help, e.g. `DIR`, `m|ft|us-ft`; absent for a switch. */
  readonly value?: string;
  readonly about: string;
  /** May stand several times. */
  readonly many?: boolean;
}

export interface Verb {
  readonly name: string;
  /** What stands after the verb, e.g. `FILE…`. */
  readonly operands: string;
  readonly about: string;
  readonly flags: readonly Flag[];
  /** @returns Exit status. */
  run(args: Arguments): Promise<number>;
}

/** The words after the verb, checked against its flags. */
export class Arguments {
  constructor(
    readonly operands: readonly string[],
    private readonly values: Readonly<Record<string, string | boolean | (string | boolean)[] | undefined>>,
  ) {}

  /** The one record a verb works on. */
  record(verb: string): string {
    const [path, ...more] = this.operands;
    if (path === undefined || more.length > 0) throw new InputError(`roofdatum ${verb}`, `takes one record, ${this.operands.length} given.`);
    return path;
  }

  has(name: string): boolean {
    return this.values[name] === true;
  }

  text(name: string): string | undefined {
    const value = this.values[name];
    return typeof value === 'string' ? value : undefined;
  }

  texts(name: string): string[] {
    const value = this.values[name];
    return Array.isArray(value) ? value.map(String) : [];
  }

  required(name: string): string {
    const value = this.text(name);
    if (value === undefined) throw new InputError(`--${name}`, 'is missing.');
    return value;
  }

  choice<Choice extends string>(name: string, choices: readonly Choice[]): Choice | undefined {
    const value = this.text(name);
    if (value === undefined) return undefined;
    const found = choices.find((choice) => choice === value);
    if (!found) throw new InputError(`--${name}`, `"${value}" is not known, expected ${choices.join(', ')}.`);
    return found;
  }

  /** @throws InputError when the value is no number, or not within the limits. */
  number(name: string, least = -Infinity, most = Infinity): number | undefined {
    const text = this.text(name);
    if (text === undefined) return undefined;
    const value = Number(text);
    if (text.trim() === '' || !Number.isFinite(value) || value < least || value > most) {
      const range = Number.isFinite(most) ? `from ${least} to ${most}` : Number.isFinite(least) ? `of at least ${least}` : '';
      throw new InputError(`--${name}`, `"${text}" is not a number ${range}`.trimEnd() + '.');
    }
    return value;
  }

  whole(name: string, least: number, most: number): number | undefined {
    const value = this.number(name, least, most);
    if (value !== undefined && !Number.isInteger(value)) throw new InputError(`--${name}`, `"${value}" is not a whole number.`);
    return value;
  }
}

/** @throws InputError for a flag the verb does not have. */
export function parseArguments(verb: Verb, words: readonly string[]): Arguments {
  const options = Object.fromEntries(
    verb.flags.map((flag) => [flag.name, { type: flag.value ? ('string' as const) : ('boolean' as const), multiple: flag.many ?? false }]),
  );
  try {
    const { values, positionals } = parseArgs({ args: joinNegativeValues(words), options, allowPositionals: true, strict: true });
    return new Arguments(positionals, values as never);
  } catch (error) {
    const message = (error instanceof Error ? error.message : String(error)).split(/\. |\n/)[0];
    throw new InputError(`roofdatum ${verb.name}`, `${message}. See roofdatum ${verb.name} --help.`);
  }
}

/** `--longitude -105.2` is meant as one value, which the parser would take for another flag. */
function joinNegativeValues(words: readonly string[]): string[] {
  const joined: string[] = [];
  for (const word of words) {
    const before = joined.at(-1);
    if (before?.startsWith('--') && !before.includes('=') && /^-\d/.test(word)) joined[joined.length - 1] = `${before}=${word}`;
    else joined.push(word);
  }
  return joined;
}

export function helpOf(verb: Verb): string {
  const left = verb.flags.map((flag) => `  --${flag.name}${flag.value ? ` ${flag.value}` : ''}`);
  const width = Math.min(34, Math.max(0, ...left.map((text) => text.length)) + 2);
  const lines = verb.flags.map((flag, index) => describe(left[index]!, flag.about, width));
  return `roofdatum ${verb.name} ${verb.operands}\n\n${wrap(verb.about, 0)}\n\n${lines.join('\n')}\n`;
}

function describe(left: string, about: string, width: number): string {
  const text = wrap(about, width);
  return left.length + 2 > width ? `${left}\n${' '.repeat(width)}${text}` : left.padEnd(width) + text;
}

function wrap(text: string, indent: number): string {
  const limit = 100 - indent;
  const lines = [''];
  for (const word of text.split(' ')) {
    const line = lines.at(-1)!;
    if (line && line.length + 1 + word.length > limit) lines.push(word);
    else lines[lines.length - 1] = line ? `${line} ${word}` : word;
  }
  return lines.join(`\n${' '.repeat(indent)}`);
}
