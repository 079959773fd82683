import type { CheckedReading, CheckpointAccuracy, SiteFit, TapeCheck } from '../../roof/record.ts';
import { isKnown, type Measured } from '../../units/measured.ts';
import { plainReading } from '../../units/written-reading.ts';
import { numberRuns } from '../paper/number-runs.ts';
import { column, firm, heading, paragraph, plain, table, type Block, type TableCell } from '../report/block.ts';

/** Each instrument once, with the largest promise it made. */
export function instrumentPart(rows: readonly CheckedReading[]): Block[] {
  const used = new Map<string, { readonly ids: Set<string>; readonly says: Set<string> }>();
  for (const row of rows) {
    const name = row.device ?? 'no instrument named';
    const entry = used.get(name) ?? { ids: new Set<string>(), says: new Set<string>() };
    entry.ids.add(row.kind.startsWith('checkpoint-') ? row.id.slice(0, row.id.lastIndexOf('-')) : row.id);
    entry.says.add(row.toleranceStated ?? 'taken as 5 mm, or 0.2° for a pitch, one sigma (common practice, no source)');
    used.set(name, entry);
  }
  if (used.size === 0) return [];
  const columns = [column('instrument', 0.24), column('readings', 0.28), column('what it promises', 0.48)];
  return [heading(2, 'Instruments'), table('Instruments and their class', columns, [...used].map(([name, { ids, says }]) => [firm(name), plain([...ids].join(', ')), plain(shortened(says))]))];
}

/** "± 0.9 to 2.7 mm (source)" where only the figure changes with the length. */
function shortened(says: ReadonlySet<string>): string {
  const all = [...says];
  if (all.length === 1) return all[0]!;
  const figures = all.map((text) => Number(/^± ([\d.]+) mm/.exec(text)?.[1] ?? Number.NaN));
  const source = /\(.*\)$/.exec(all[0]!)?.[0] ?? '';
  return figures.some(Number.isNaN) ? all.join('; ') : `± ${Math.min(...figures)} to ${Math.max(...figures)} mm by length ${source}`;
}

export function correctionPart(rows: readonly CheckedReading[]): Block[] {
  const corrected = rows.filter(({ corrections }) => corrections && corrections.length > 0);
  if (corrected.length === 0) return [];
  const columns = [column('', 0.07), column('as read', 0.12, 'end'), column('correction', 0.14), column('amount', 0.12, 'end'), column('formula', 0.43), column('corrected', 0.12, 'end')];
  const lines = corrected.flatMap((row) =>
    row.corrections!.map(({ name, amountM, formula }, i): TableCell[] => [
      i === 0 ? firm(row.id) : plain(''),
      plain(i === 0 ? `${row.readM!.toFixed(4)} m` : ''),
      plain(name),
      plain(`${amountM < 0 ? '−' : '+'}${(1000 * Math.abs(amountM)).toFixed(1)} mm`),
      plain(formula),
      plain(i === row.corrections!.length - 1 ? `${row.tapeM.value!.toFixed(4)} m` : ''),
    ]));
  const sources = [...new Set(corrected.flatMap((row) => row.corrections!.map(({ source }) => source)))];
  return [heading(2, 'Corrections of the tape'), table('What was read, and what was added', columns, lines), paragraph(`${sources.join('; ')}.`, 'Formulas:')];
}

export function statisticsPart(check: TapeCheck): Block[] {
  if (check.count === 0) return [];
  const [low, high] = check.rmseBracketM;
  const outliers = check.readings.filter(({ note }) => note?.includes('outlier by Grubbs'));
  return [
    heading(1, 'Statistics'),
    paragraph(`bias ${plainReading(check.biasM, 'length')}; RMSE ${mm(check.rmseM)} mm. With so few readings the true RMSE lies between ${mm(low)} and ${mm(high)} mm with 95 % probability (chi-square).`, `${check.count} lengths and heights:`),
    paragraph(outliers.length > 0 ? `${outliers.map(({ id }) => id).join(', ')}: an outlier by the two-sided test at 5 % (NIST/SEMATECH e-Handbook 1.3.5.17.1). It stays in every figure.` : 'none by the two-sided test at 5 % (NIST/SEMATECH e-Handbook 1.3.5.17.1).', 'Outliers, Grubbs:'),
  ];
}

const SAYS: Readonly<Record<TapeCheck['explanation']['kind'], string>> = {
  chance: 'Chance: no common cause shows.',
  scale: 'A scale error of the model.',
  edge: 'Another idea of where the edge is.',
  'scale-and-edge': 'A scale error and another idea of the edge.',
  'vertical-scale': 'A scale error of heights.',
  blunder: 'One reading does not belong to the others; take it again.',
  'cannot-tell': 'It cannot be told from these readings.',
};

export function explanationPart({ explanation, count }: TapeCheck): Block[] {
  if (count === 0) return [];
  const odds = Object.entries(explanation.odds).toSorted(([, a], [, b]) => b - a);
  const amounts = [
    ...(isKnown(explanation.scale) ? [`scale ${share(explanation.scale)}`] : []),
    ...(isKnown(explanation.edgeOffsetM) ? [`edge offset ${plainReading(explanation.edgeOffsetM, 'length')}`] : []),
  ];
  return [
    heading(1, 'What explains the residuals'),
    paragraph(`${explanation.why ?? ''}${amounts.length > 0 ? ` Ours is off by: ${amounts.join(', ')}.` : ''} Odds by the Bayesian information criterion with known sigmas (Schwarz 1978).`, SAYS[explanation.kind]),
    table('Odds', [column('cause', 0.5), column('share of belief', 0.5, 'end')], odds.map(([kind, odd]) => [plain(kind.replaceAll('-', ' ')), plain(`${(100 * odd).toFixed(0)} %`)])),
  ];
}

export const inMillimetres = (number: Measured): TableCell => (isKnown(number) ? plain(`${mm(number.value)} ± ${mm(number.u95)} mm`) : plain(number.why));

export function checkpointPart(check: TapeCheck): Block[] {
  return check.site ? [...siteBlocks(check.site), ...comparedBlocks(check.readings), ...(check.accuracy ? [accuracyBlock(check.accuracy)] : [])] : [];
}

/** Each direction a point tells, with its verdict. */
function comparedBlocks(all: readonly CheckedReading[]): Block[] {
  const rows = all.filter(({ kind }) => kind.startsWith('checkpoint-'));
  const columns = [column('', 0.12), column('lies on', 0.34), column('surveyed', 0.2, 'end'), column('ours − survey', 0.2, 'end'), column('verdict', 0.14)];
  return [table('Point by point, ± of both', columns, rows.map((row) => [firm(row.id), plain(row.note ?? ''), plain(isKnown(row.tapeM) ? row.tapeM.value.toFixed(3) : ''), inMillimetres(row.residualM), plain(row.verdict)]))];
}

function siteBlocks(site: SiteFit): Block[] {
  const says = (number: Measured): string => (isKnown(number) ? (Math.abs(number.value) > number.u95 ? 'significant' : 'within its ±') : '');
  const row = (name: string, number: Measured, cell: TableCell): TableCell[] => [plain(name), cell, plain(says(number))];
  const columns = [column('ours against the survey', 0.42), column('by', 0.36, 'end'), column('at 95 %', 0.22)];
  const trust = site.probability === null ? 'No observation is spare, so nothing tests the fit.' : `${site.degreesOfFreedom} spare observations; residuals as large as these have a probability of ${site.probability.toFixed(2)} if the stated sigmas hold.`;
  return [
    heading(1, 'Surveyed checkpoints'),
    paragraph(`${site.points} points. ${trust}`, 'Seven-parameter fit:'),
    table('Shift, tilt, turn and scale', columns, [
      row('east', site.eastM, numberRuns(site.eastM, 'length')),
      row('north', site.northM, numberRuns(site.northM, 'length')),
      row('up', site.upM, numberRuns(site.upM, 'length')),
      row('rises to the north', site.tiltNorthDeg, numberRuns(site.tiltNorthDeg, 'bearing')),
      row('rises to the east', site.tiltEastDeg, numberRuns(site.tiltEastDeg, 'bearing')),
      row('bearings', site.turnDeg, numberRuns(site.turnDeg, 'bearing')),
      row('scale', site.scale, plain(isKnown(site.scale) ? share(site.scale) : site.scale.why)),
    ]),
    table('Residual vectors, ours minus survey, mm', [column('', 0.16), column('east', 0.14, 'end'), column('north', 0.14, 'end'), column('up', 0.14, 'end'), column('after fit: east', 0.14, 'end'), column('north', 0.14, 'end'), column('up', 0.14, 'end')],
      site.vectors.map(({ id, beforeM, afterM }) => [firm(id), ...[...beforeM, ...afterM].map((value) => plain(value === null ? 'not told' : mm(value)))])),
  ];
}

const accuracyBlock = (accuracy: CheckpointAccuracy): Block =>
  paragraph(
    `RMSE x ${mm(accuracy.rmseM[0])}, y ${mm(accuracy.rmseM[1])}, z ${mm(accuracy.rmseM[2])}; horizontal ${mm(accuracy.rmseHorizontalM)}, in space ${mm(accuracy.rmse3dM)} mm (ASPRS Positional Accuracy Standards, Edition 2, 2023). ` +
      `At 95 %: horizontal ${mm(accuracy.nssdaHorizontal95M)}, vertical ${mm(accuracy.nssdaVertical95M)} mm (NSSDA, FGDC-STD-007.3-1998). ${accuracy.statement}`,
    'Positional accuracy:',
  );

const share = (number: Measured): string => (isKnown(number) ? `${(100 * number.value).toFixed(2).replace('-', '−')} ± ${(100 * number.u95).toFixed(2)} %` : number.why);
const mm = (metres: number): string => (metres * 1000).toFixed(0).replace(/^-0$/, '0').replace('-', '−');
