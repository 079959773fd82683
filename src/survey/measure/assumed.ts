import type { Assumptions } from '../../reading/assumptions.ts';
import type { CorrectionKind, RoofRecord } from '../../roof/record.ts';
import type { UncertaintyPart } from '../../units/measured.ts';
import { optionsOfRecord } from '../survey-options.ts';
import { assumptionsOf } from './model-parts.ts';

/** Name of the part of a ±, what a person calls it, how its size is written, and the correction that settles it. */
const ASSUMED: readonly { readonly part: string; readonly key: keyof Assumptions; readonly says: (size: number) => string; readonly settledBy: CorrectionKind }[] = [
  { part: 'scale', key: 'scale', says: (size) => `lengths true to ${Number((1000 * size).toPrecision(3))} mm per metre`, settledBy: 'scale' },
  { part: 'tilt', key: 'tiltDeg', says: (size) => `level to ${Number(size.toPrecision(3))}°`, settledBy: 'tilt' },
  { part: 'north', key: 'northDeg', says: (size) => `north to ${Number(size.toPrecision(3))}°`, settledBy: 'turn' },
];

/** What no cloud tells of itself, one phrase each with where it comes from: `level to 0.02° (not stated, so the usual)`. */
export function assumedPhrases(record: RoofRecord, isAsked: (part: string) => boolean = () => true): string[] {
  const [sizes, stated] = [assumptionsOf(record), optionsOfRecord(record).control ?? {}];
  const corrected = new Set((record.corrections ?? []).map(({ kind }) => kind));
  return ASSUMED.filter(({ part }) => isAsked(part)).map(({ key, says, settledBy }) =>
    `${says(sizes[key])} (${corrected.has(settledBy) ? 'by control, as the model was corrected' : stated[key] === undefined ? 'not stated, so the usual' : 'as stated'})`);
}

/** What the parts of a ± take for granted; null where they rest on the points alone. */
export function assumedSentence(record: RoofRecord, parts: readonly UncertaintyPart[]): string | null {
  const phrases = assumedPhrases(record, (asked) => parts.some(({ name, u95 }) => name === asked && u95 > 0));
  return phrases.length > 0 ? `No cloud tells this of itself, so it is taken for granted: ${phrases.join(', ')}.` : null;
}
