import { FOUND_FOUR_IN_FIVE, type Explanation, type ResidualCase } from '../../reading/explain-residuals.ts';
import type { RoofRecord } from '../../roof/record.ts';
import type { TapeReading } from '../../site/tape-reading.ts';

/** Lengths nearer to each other than this cannot part a scale from a constant. Common practice, no source. */
const ALIKE = 1.5;
/** A rise below this share of a length shows nothing of the height scale. Common practice, no source. */
const LEAST_RISE = 0.3;

/** What this set of readings cannot show, one sentence each. */
export function tapeNotes(record: RoofRecord, readings: readonly TapeReading[], cases: readonly ResidualCase[], { fits }: Explanation): string[] {
  const notes: string[] = [];
  if (!readings.some(({ kind }) => kind === 'checkpoint')) notes.push('Distances and heights cannot show a shift or a turn of the whole model; surveyed checkpoints can.');
  if (cases.length > 0) {
    const spans = cases.map(({ spanLength }) => spanLength);
    if (cases.length > 1 && Math.max(...spans) < ALIKE * Math.min(...spans)) notes.push('All lengths are much alike: a scale error and another idea of the edge look the same.');
    if (cases.every(({ spanHeight, spanLength }) => spanHeight < LEAST_RISE * spanLength)) notes.push('No reading rises much: a wrong height scale cannot show.');
    const both = fits.find(({ kind }) => kind === 'scale-and-edge');
    if (both) notes.push(`A scale error below ${percent(FOUND_FOUR_IN_FIVE * both.sigmas[0]!)} or an edge offset below ${(1000 * FOUND_FOUR_IN_FIVE * both.sigmas[1]!).toFixed(0)} mm would be found less than four times in five.`);
  }
  const open = readings.filter(({ kind, ends }) => kind !== 'checkpoint' && ends.length === 0).length;
  if (open > 0) notes.push(`${open} ${open === 1 ? 'reading has' : 'readings have'} no place yet.`);
  const used = new Set((record.corrections ?? []).flatMap((correction) => correction.readings));
  const again = readings.filter(({ id }) => used.has(id)).map(({ id }) => id);
  if (again.length > 0) notes.push(`The model was corrected by ${again.join(', ')}: that these agree now is no proof. Tape something else.`);
  return notes;
}

const percent = (share: number): string => `${(100 * share).toFixed(2)} %`;
