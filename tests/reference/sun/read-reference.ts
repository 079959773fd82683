import { readFileSync } from 'node:fs';

const NEEDED = ['source', 'edition', 'where', 'licence', 'tolerance'];

/** Rows of a reference file by column name. Refuses a file that does not say what makes it evidence. */
export function readReference(url: URL): Record<string, string>[] {
  const lines = readFileSync(url, 'utf8').trim().split('\n');
  const stated = lines.filter((line) => line.startsWith('# ')).map((line) => line.slice(2, line.indexOf(':')));
  const absent = NEEDED.filter((name) => !stated.includes(name));
  if (absent.length > 0) throw new Error(`${url.pathname} lacks the lines ${absent.join(', ')}`);
  const [header, ...rows] = lines.filter((line) => !line.startsWith('#')).map((line) => line.split(','));
  return rows.map((row) => Object.fromEntries(header!.map((name, i) => [name, row[i] ?? ''])));
}
