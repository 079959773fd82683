import { InputError } from './input-error.ts';
import { parseLength } from './parse-length.ts';

/**
 * A length as a person types it; a bare number is in metres, with a point or a comma.
 *
 * @throws InputError when the text is no length.
 */
export function typedLength(text: string): number {
  try {
    return parseLength(/^[-−]?[\d.,\s]+$/.test(text.trim()) ? `${text.trim().replace(',', '.')} m` : text);
  } catch (error) {
    throw new InputError('length', error instanceof RangeError ? `${error.message}.` : String(error));
  }
}
