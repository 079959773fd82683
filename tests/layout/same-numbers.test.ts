import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

const top = join(import.meta.dirname, '../..');
/** Rooms whose numbers reach the record, which must be the same bytes on every engine. */
const ROOMS = ["geometry", "site", "cloud", "roof", "io", "reading", "find", "flight", "survey", "sun", "layout"];

/** ECMA-262 leaves their last digits to the engine; so it does for powers but squares, and powers of two are exact. */
const ENGINE_FUNCTION = /\bMath\.(?:sin|cos|tan|asin|acos|atan|atan2|sinh|cosh|tanh|asinh|acosh|atanh|exp|expm1|log|log10|log2|log1p|cbrt|pow)\b/g;
const ENGINE_POWER = /(?<![\w.])(?!2 \*\*)[\w.)\]]+ \*\* (?!2\b(?!\.))\S+/g;

function breachesIn(source: string): string[] {
  const code = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/\/\/.*$/gm, '');
  return [...code.matchAll(ENGINE_FUNCTION), ...code.matchAll(ENGINE_POWER)].map(([found]) => found);
}

describe('numbers that do not hang on the engine', () => {
  it.each(ROOMS)('%s leaves no digit to the engine: use geometry/same-math', (room) => {
    const files = readdirSync(join(top, 'src', room), { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
    expect(files.length).toBeGreaterThan(0);
    expect(files.flatMap((name) => breachesIn(readFileSync(join(top, 'src', room, name), 'utf8')).map((found) => `${room}/${name}: ${found}`))).toEqual([]);
  });

  it.each(['const a = Math.sin(b);', 'list.map(Math.exp)', 'const a = b ** 3;', 'x ** 1.5', '10 ** k', 'f(x) ** n', 'a ** 2.5'])('sees a seeded mistake: %s', (source) => {
    expect(breachesIn(source)).toHaveLength(1);
  });

  it.each(['Math.hypot(a, b) ** 2', 'Math.sqrt(x)', '2 ** 31', '2 ** bits', '// Math.sin', '/** a ** 3 */', 'import { sin } from "x"; sin(1)', 'Math.log'.replace('log', 'max')])('lets pass: %s', (source) => {
    expect(breachesIn(source)).toEqual([]);
  });
});
