import { expect, test } from 'vitest';
import { CORRECT_TOOLS } from '../../../src/panels/correct-words.ts';
import { fingerWords } from '../../../src/panels/finger-words.ts';

test.each([
  ['Click the first place; Shift takes a bare point, Esc ends.', 'Tap the first place, then tap it again to take it.'],
  ['3.085 m ± 0.022. Click to measure the next, Esc ends.', '3.085 m ± 0.022. Tap to measure the next.'],
  ['Now click where the corner belongs. Esc leaves it.', 'Now tap where the corner belongs.'],
  ['Take three places or more, and close it at the first, with a double click or with Close.', 'Take three places or more, and close it at the first, or with Close.'],
])('%s', (text, said) => expect(fingerWords(text)).toBe(said));

test('no tool asks a hand for a key or a click', () => {
  for (const { next } of Object.values(CORRECT_TOOLS)) {
    for (let taken = 0; taken < 4; taken++) expect(fingerWords(next(taken, 'p1'))).not.toMatch(/click|\bEsc\b|Shift|Enter/i);
  }
});
