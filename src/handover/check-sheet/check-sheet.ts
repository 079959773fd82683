import type { CheckedReading, RoofRecord, TapeCheck } from '../../roof/record.ts';
import { crsOf, type HandoverOptions } from '../handover-kind.ts';
import { siteName } from '../paper/building-sheet.ts';
import { numberRuns, writtenRuns } from '../paper/number-runs.ts';
import { recordDate } from '../record-date.ts';
import { column, facts, firm, heading, paragraph, plain, table, type Block, type Report, type TableCell } from '../report/block.ts';
import { CAUTIONS } from '../report/ground-parts.ts';
import { checkpointPart, correctionPart, explanationPart, inMillimetres, instrumentPart, statisticsPart } from './check-parts.ts';
import { checkOf, numberedNext, numberedReadings, type NumberedNext } from './numbered-readings.ts';
import { tapePlan } from './tape-plan.ts';

/** Empty rows for what is read next. */
const BLANK_ROWS = 8;

/**
 * The sheet a checker signs: what was taped with what, ours beside it, verdicts, what explains the residuals, what the
 * readings cannot show, and what to tape next. A record without readings gives the sheet to take to the roof.
 */
export function checkSheet(record: RoofRecord, options: HandoverOptions = {}): Report {
  const title = siteName({ record, options });
  const check = checkOf(record);
  const readings = numberedReadings(record);
  const next = numberedNext(record);
  const drawn = record.buildings.filter((building) => readings.some((each) => each.building === building.id) || next.some((each) => each.building === building));
  return {
    title,
    subtitle: 'Tape check sheet',
    date: recordDate(record),
    foot: `${title}. Tape check of record ${record.sources[0]?.sha256.slice(0, 12) ?? 'without source'}, roofdatum ${record.madeBy.version}.`,
    blocks: [
      surveyFacts(record, check, options),
      verdictPart(check),
      { kind: 'caution', items: CAUTIONS.slice(0, 2) },
      ...readingPart(check.readings),
      ...instrumentPart(check.readings),
      ...correctionPart(check.readings),
      ...statisticsPart(check),
      ...explanationPart(check),
      heading(check.readings.length > 0 ? 2 : 1, 'What these readings cannot show'),
      { kind: 'list', items: check.notes ?? ['Distances cannot show a shift or a turn of the whole model.'] },
      ...checkpointPart(check),
      ...appliedPart(record),
      ...drawn.map((building): Block => ({ kind: 'sheet', sheet: tapePlan(record, building, readings, next, options) })),
      ...nextPart(next),
      heading(1, 'Signatures'),
      paragraph('Who signs says that the readings were taken as stated above, and that the verdict was seen. The sheet settles nothing about structure, wiring or fire access; local code and licensed persons do.'),
      { kind: 'signatures', roles: ['taped by', 'checked by', 'accepted by'] },
    ],
  };
}

function surveyFacts(record: RoofRecord, check: TapeCheck, options: HandoverOptions): Block {
  const taken = check.taken ?? [];
  const by = [...new Set(taken.map((reading) => reading.by).filter((name) => name !== ''))];
  const days = [...new Set(taken.map(({ at }) => at.slice(0, 10)).filter((day) => day !== ''))].toSorted();
  return facts('What is checked', [
    ['survey', plain(record.sources.map(({ file }) => file).join(', '))],
    ['coordinates', plain(crsOf(record, options) ?? 'local, no projection stated')],
    ['point spacing, noise', plain(`${(record.sampling.pointSpacingM * 1000).toFixed(0)} mm, ${(record.sampling.noiseM * 1000).toFixed(1)} mm`)],
    ['readings', plain(taken.length === 0 ? 'none yet' : `${taken.length}, by ${by.join(', ') || 'nobody named'}${days.length > 0 ? `, ${days.join(', ')}` : ''}`)],
    ['tolerance', plain(`${(check.toleranceM * 1000).toFixed(0)} mm for a length or a height, 0.5° for a pitch`)],
  ]);
}

function verdictPart(check: TapeCheck): Block {
  if (check.readings.length === 0) return paragraph('No reading yet. Take this sheet to the roof: the plan shows what to tape first.', 'Verdict: open.');
  const count = (verdict: CheckedReading['verdict']): number => check.readings.filter((row) => row.verdict === verdict).length;
  return paragraph(
    `${count('agrees')} agree, ${count('doubtful')} doubtful, ${count('disagrees')} disagree, ${count('not-compared')} not compared. ` +
      'Agrees: within the tolerance. Doubtful: beyond it by less than the ± of both. Disagrees: surely beyond it.',
    `Verdict: ${check.verdict}.`,
  );
}

function readingPart(all: readonly CheckedReading[]): Block[] {
  const rows = all.filter(({ kind }) => !kind.startsWith('checkpoint-'));
  if (rows.length === 0) return [];
  const columns = [column('', 0.08), column('what, where it lies on the model', 0.31), column('ours', 0.16, 'end'), column('tape', 0.19, 'end'), column('ours − tape', 0.14, 'end'), column('verdict', 0.12)];
  return [
    heading(1, 'Readings'),
    table('Ours beside the tape, ± at 95 %', columns, rows.map((row): TableCell[] => [
      firm(row.id),
      plain(`${row.kind.replaceAll('-', ' ')}: ${row.note ?? ''}`),
      row.oursDeg ? numberRuns(row.oursDeg, 'pitch') : numberRuns(row.oursM, 'length'),
      row.tapeDeg ? numberRuns(row.tapeDeg, 'pitch') : [...numberRuns(row.tapeM, 'length'), ...(row.corrections ? plain(' *') : []), ...writtenRuns(row)],
      row.verdict === 'not-compared' ? plain('') : row.residualDeg ? numberRuns(row.residualDeg, 'pitch') : inMillimetres(row.residualM),
      plain(row.verdict.replaceAll('-', ' ')),
    ])),
    ...(rows.some(({ corrections }) => corrections) ? [paragraph('* with its corrections, which stand below.')] : []),
  ];
}

function appliedPart(record: RoofRecord): Block[] {
  const applied = record.corrections ?? [];
  if (applied.length === 0) return [];
  const amount = ({ amount: value, kind, shiftM, u95 }: (typeof applied)[number]): string =>
    value === null ? `${(shiftM ?? []).map((v) => (v * 1000).toFixed(0)).join(', ')} mm east, north, up` : kind === 'edge' ? `${(value * 1000).toFixed(0)} ± ${(u95 * 1000).toFixed(0)} mm` : `${(value * 100).toFixed(2)} ± ${(u95 * 100).toFixed(2)} %`;
  const columns = [column('what', 0.16), column('ours was off by', 0.24, 'end'), column('from', 0.22), column('by, when', 0.18), column('why', 0.2)];
  return [
    heading(1, 'Corrections of the model that were applied'),
    table('Applied when a person said so', columns, applied.map((one) => [firm(one.kind.replace('-', ' ')), plain(amount(one)), plain(one.readings.join(', ')), plain(`${one.by}, ${one.at.slice(0, 10)}`), plain([one.why, ...(one.leftOut ? [`left as they were: ${one.leftOut.join(', ')}`] : [])].join('; '))])),
  ];
}

function nextPart(next: readonly NumberedNext[]): Block[] {
  const columns = [column('', 0.06), column('where', 0.3), column('ours', 0.15, 'end'), column('settles', 0.25), column('tape said', 0.12), column('with, by', 0.12)];
  const rows = next.map(({ mark, where, edge, why }): TableCell[] => [firm(mark), plain(where), numberRuns(edge.slopeLengthM, 'length'), plain(why), plain(''), plain('')]);
  const blank = Array.from({ length: BLANK_ROWS }, (): TableCell[] => columns.map(() => plain(' ')));
  return [
    heading(1, 'To the roof: tape next'),
    paragraph('The lengths that tell most, best first; their marks stand on the plan. Empty rows are for anything else: say from where to where, with what, and how warm the tape was.'),
    { ...table('Tape next', columns, [...rows, ...blank]), leastLines: 2 },
  ];
}
