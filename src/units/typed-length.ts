import { InputError } from './input-error.ts';
import { parseLength } from './parse-length.ts';

/**
 * A length as a person types it; a bare number is in the unit in use, with a point or a comma.
 *
 * @param bareM  Size of that unit. [m]
 * @throws InputError when the text is no length.
 */
export function typedLength(text: string, bareM = 1): number {
  try {
    return /^[-−]?[\d.,\s]+$/.test(text.trim()) ? parseLength(`${text.trim().replace(',', '.')} m`) * bareM : parseLength(text);
  } catch (error) {
    throw new InputError('length', error instanceof RangeError ? `${error.message}.` : String(error));
  }
}
