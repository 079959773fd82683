import { InputError } from './input-error.ts';
import { typedLength } from './typed-length.ts';

/** Longest text that is kept. */
const MOST_SIGNS = 40;
/** A text and a value farther apart than this are not one reading. [m] */
const SAME_LENGTH_M = 0.0005;

/**
 * A length as a person wrote it down, with its unit: `12' 4 1/2"`, `7420 mm`.
 *
 * @param unit  Of a bare number.
 * @returns Nothing where it was written in metres, which the value says.
 */
export function writtenDown(text: string, unit: string): { readonly written?: string } {
  const said = text.trim().replace(/\s+/g, ' ');
  const isBare = /^[-−]?[\d.,]+$/.test(said);
  if (isBare ? unit === 'm' : /\d\s*m$/.test(said)) return {};
  return { written: (isBare ? `${said} ${unit}` : said).slice(0, MOST_SIGNS) };
}

/** Says so when what was written down is another length than the value, or none; null where they agree. */
export function writtenFault(written: string, valueM: number): string | null {
  try {
    const said = typedLength(written.replace(/(\d),(\d)/, '$1.$2'));
    return Math.abs(said - valueM) <= SAME_LENGTH_M ? null : `"${written}" is ${said.toFixed(4)} m, the value says ${valueM.toFixed(4)} m`;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.detail;
  }
}
