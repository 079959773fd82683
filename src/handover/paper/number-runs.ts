import type { CheckedReading } from '../../roof/record.ts';
import type { Measured } from '../../units/measured.ts';
import { writeReading, type Dimension } from '../../units/written-reading.ts';
import type { TextRun } from './mark.ts';

/** A measured number in print: firm digits heavy, soft digits light, ± as plain figures; or the reason there is none. */
export function numberRuns(number: Measured, dimension: Dimension): TextRun[] {
  const written = writeReading(number, dimension);
  if (written === null) return [{ text: number.value === null ? number.why : '', face: 'figures' }];
  const runs: TextRun[] = [
    { text: written.firm, face: 'figures-firm' },
    { text: written.soft, face: 'figures-soft' },
    { text: `${written.unit} ± ${written.plusMinus}`, face: 'figures' },
  ];
  return runs.filter((run) => run.text !== '');
}

/** After a taped length: how it was written down on site, where that was not in metres. */
export const writtenRuns = ({ written }: Pick<CheckedReading, 'written'>): TextRun[] => (written ? [{ text: `, read ${written}`, face: 'figures' }] : []);
