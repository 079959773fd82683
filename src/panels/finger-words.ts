/**
 * What to do next, for a hand instead of a pointer: a finger taps, and has no Shift, no Esc and no double click.
 *
 * @param text  As it is written for a pointer and keys.
 */
export function fingerWords(text: string): string {
  return text
    .replace(/; Shift takes a bare point, Esc ends\./, ', then tap it again to take it.')
    .replace(/(?: Esc leaves it\.|, Esc ends(?= *\.))/g, '')
    .replace(/; close it at the first corner, or with a double click\./, '; close it at the first corner or with the last one twice.')
    .replace(/a double click or Close/, 'the last place twice or Close')
    .replace(/, with a double click or with Close/, ', or with Close')
    .replace(/\bClick\b/g, 'Tap')
    .replace(/\bclick\b/g, 'tap');
}
