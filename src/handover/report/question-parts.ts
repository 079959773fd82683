import { partNames } from '../../roof/part-names.ts';
import { clientSentence } from '../../reading/resolvability.ts';
import type { RoofRecord } from '../../roof/record.ts';
import { plainReading } from '../../units/written-reading.ts';
import { numberRuns, writtenRuns } from '../paper/number-runs.ts';
import { column, firm, heading, paragraph, plain, table, type Block, type TableCell } from './block.ts';

const nameIn = (record: RoofRecord): ((id: string) => string) => {
  const names = partNames(record);
  return (id) => names.get(id) ?? id;
};

/** Question 4: what is too small to trust. */
export function smallFeaturePart(record: RoofRecord): Block[] {
  const { clientLimit, sampling } = record;
  const limit = clientLimit ? [paragraph(`${(clientLimit.gsdM * 100).toFixed(1)} cm per pixel, because ${clientLimit.why}.${clientSentence(sampling.groundSampleDistanceM, clientLimit.gsdM)} Everything below is judged by it.`, 'The client allows at most:')] : [];
  const head = [heading(1, 'To verify on site'), ...limit];
  if (record.smallFeatures.length === 0) {
    return [...head, paragraph('No small feature has been proposed or pinned. Drains, pipes and gutters may be there: this part waits for question 4.')];
  }
  const name = nameIn(record);
  const columns = [column('', 0.07), column('what', 0.1), column('on', 0.09), column('width', 0.2, 'end'), column('height', 0.2, 'end'), column('in this survey', 0.13), column('why', 0.21)];
  const rows = record.smallFeatures.map((thing) => [
    firm(name(thing.id)),
    plain(thing.kind),
    plain(thing.onPlane === null ? '' : thing.onPlane),
    numberRuns(thing.widthM, 'length'),
    numberRuns(thing.heightM, 'length'),
    plain(thing.verifyOnSite ? `${thing.resolvability}; verify` : thing.resolvability),
    plain([thing.why, thing.note].filter(Boolean).join('; ')),
  ]);
  return [...head, paragraph('Things near or below what this survey can show. Their place may be known when their size is not.'), table('Small features', columns, rows), ...picturePart(record)];
}

/** Pictures people pinned to small features, each under the name of its feature. */
function picturePart(record: RoofRecord): Block[] {
  const name = nameIn(record);
  const pictures = record.smallFeatures.flatMap((thing): Block[] => {
    const photo = record.photos?.find(({ feature }) => feature === thing.id);
    if (!photo) return [];
    const lead = `${name(thing.id)}, ${thing.kind === 'other' ? 'small feature' : thing.kind}:`;
    const size = thing.widthM.value === null ? '' : `width ${plainReading(thing.widthM, 'length')}`;
    const caption = [thing.note, size, thing.why, `picture ${photo.name}`].filter(Boolean).join('; ');
    return [{ kind: 'picture', address: photo.picture, widthPx: photo.widthPx, heightPx: photo.heightPx, alt: `Picture of ${name(thing.id)}, ${thing.kind}${thing.note ? `: ${thing.note}` : ''}`, lead, caption }];
  });
  return pictures.length > 0 ? [heading(2, 'Pictures of small features'), ...pictures] : [];
}

const EXPLANATION: Readonly<Record<NonNullable<RoofRecord['tape']>['explanation']['kind'], string>> = {
  chance: 'The residuals are what chance gives; no common cause shows.',
  scale: 'A scale error explains the residuals best.',
  edge: 'A different idea of where the edge is explains the residuals best.',
  'scale-and-edge': 'A scale error together with a different idea of the edge explains the residuals best.',
  'vertical-scale': 'A scale error in height explains the residuals best.',
  blunder: 'One reading does not belong to the others; take it again.',
  'cannot-tell': 'Too little was taped to tell causes apart.',
};

/** Question 5: does it agree with the tape. */
export function tapePart(record: RoofRecord): Block[] {
  const head = heading(1, 'Tape check');
  const { tape } = record;
  if (tape === null) return [head, paragraph('No tape reading was given. Scale and edges are unchecked; this part waits for readings from site.')];
  const [low, high] = tape.rmseBracketM;
  const mm = (metres: number): string => (metres * 1000).toFixed(0);
  const rows = tape.readings.map((reading): TableCell[] => [
    firm(reading.id),
    plain(reading.kind.replaceAll('-', ' ')),
    reading.oursDeg ? numberRuns(reading.oursDeg, 'pitch') : numberRuns(reading.oursM, 'length'),
    reading.tapeDeg ? numberRuns(reading.tapeDeg, 'pitch') : [...numberRuns(reading.tapeM, 'length'), ...writtenRuns(reading)],
    reading.residualDeg ? numberRuns(reading.residualDeg, 'pitch') : numberRuns(reading.residualM, 'length'),
    plain(reading.verdict.replaceAll('-', ' ') + (reading.note === undefined ? '' : `; ${reading.note}`)),
  ]);
  const columns = [column('', 0.07), column('kind', 0.15), column('ours', 0.2, 'end'), column('tape', 0.2, 'end'), column('ours − tape', 0.18, 'end'), column('verdict', 0.2)];
  return [
    head,
    paragraph(
      `bias ${plainReading(tape.biasM, 'length')}, RMSE ${mm(tape.rmseM)} mm of ${tape.count} ${tape.count === 1 ? 'reading' : 'readings'} compared (the true RMSE lies between ${mm(low)} and ${mm(high)} mm), tolerance ${mm(tape.toleranceM)} mm.`,
      `Verdict: ${tape.verdict}.`,
    ),
    paragraph(EXPLANATION[tape.explanation.kind]),
    table('Tape readings', columns, rows),
    ...appliedCorrections(record),
    ...(tape.notes ?? []).map((note) => paragraph(note)),
    paragraph('Instruments, corrections of the tape and checkpoints stand on the check sheet.'),
    ...(tape.next.length === 0 ? [] : [paragraph(tape.next.map((one) => `${nameIn(record)(one.edge)} (${one.edge}): ${one.why}`).join('; '), 'Next tape worth taking:')]),
  ];
}

/** Numbers of the report hold these already. */
function appliedCorrections(record: RoofRecord): Block[] {
  return (record.corrections ?? []).map(({ kind, by, at, why, readings, leftOut }) =>
    paragraph(`${kind.replace('-', ' ')}, from ${readings.join(', ')}, by ${by}, ${at.slice(0, 10)}: ${why}${leftOut ? ` Left as they were: ${leftOut.join(', ')}.` : ''}`, 'The model was corrected:'));
}

/** Question 6: what fits. */
export function layoutPart(record: RoofRecord): Block[] {
  return [heading(1, 'Usable area and module places'), ...usableBlocks(record), ...moduleBlocks(record)];
}

function usableBlocks(record: RoofRecord): Block[] {
  const { usable, keepClear } = record;
  const blocks: Block[] = [];
  if (keepClear !== null) {
    blocks.push(paragraph(`${keepClear.ruleSet.name} (${keepClear.ruleSet.source}); ${keepClear.zones.length} keep-clear zones. Local code and the fire authority decide.`, 'Rules:'));
  }
  if (usable === null) return [...blocks, paragraph('Usable area was not worked out; this part waits for question 6 (rules and setbacks).')];
  const square = (value: number): TableCell => plain(value.toFixed(1));
  const columns = [column('plane', 0.12), column('usable slope area', 0.24, 'end'), column('edge', 0.12, 'end'), column('obstruction', 0.14, 'end'), column('access', 0.13, 'end'), column('shade', 0.12, 'end'), column('other', 0.13, 'end')];
  const rows = usable.planes.map(({ id, usableSlopeAreaM2, lostM2 }) => [firm(id), numberRuns(usableSlopeAreaM2, 'area'), square(lostM2.edge), square(lostM2.obstruction), square(lostM2.access), square(lostM2.shade), square(lostM2.other)]);
  rows.push([firm('all'), numberRuns(usable.totalM2, 'area'), ...Array.from({ length: 5 }, () => plain(''))]);
  return [...blocks, table('Usable area, and what was lost to what, m²', columns, rows)];
}

function moduleBlocks(record: RoofRecord): Block[] {
  const { layout } = record;
  if (layout === null) return [paragraph('No module was placed; this part waits for question 6 (module size and style).')];
  const perPlane = new Map<string, (number | null)[]>();
  for (const module of layout.modules) perPlane.set(module.plane, [...(perPlane.get(module.plane) ?? []), module.solarAccess]);
  const rows = [...perPlane].map(([plane, access]) => {
    const known = access.filter((one) => one !== null);
    const mean = known.length === 0 ? 'shade not computed' : `${((known.reduce((sum, one) => sum + one, 0) / known.length) * 100).toFixed(0)} % (${known.length} of ${access.length})`;
    return [firm(plane), plain(String(access.length)), plain(mean)];
  });
  const need = layout.needKwh === null ? 'No yearly need was stated.' : `Stated need ${layout.needKwh.toFixed(0)} kWh a year.`;
  const energy = layout.yearlyEnergyKwh.value === null ? `Yearly energy: ${layout.yearlyEnergyKwh.why}.` : `Yearly energy ${plainReading(layout.yearlyEnergyKwh, 'plain')} kWh.`;
  return [
    paragraph(`${layout.count} modules (at most ${layout.upperBound} by the bound), ${layout.ratedPowerKw.toFixed(2)} kW rated, placed ${layout.style}. ${energy} ${need}`, 'Module places:'),
    table('Modules by plane', [column('plane', 0.3), column('modules', 0.2, 'end'), column('mean solar access', 0.5, 'end')], rows),
  ];
}

/** What people measured on the model. */
export function readingPart(record: RoofRecord): Block[] {
  if (record.readings.length === 0) return [];
  const columns = [column('', 0.08), column('kind', 0.2), column('value', 0.24, 'end'), column('method', 0.26), column('note', 0.22)];
  const rows = record.readings.map((reading) => [
    firm(nameIn(record)(reading.id)),
    plain(reading.kind.replaceAll('-', ' ')),
    reading.valueM !== undefined ? numberRuns(reading.valueM, 'length') : reading.valueM2 !== undefined ? numberRuns(reading.valueM2, 'area') : reading.valueDeg !== undefined ? numberRuns(reading.valueDeg, 'pitch') : plain('no value'),
    plain(reading.method),
    plain(reading.note ?? ''),
  ]);
  return [heading(1, 'Readings taken on the model'), table('Readings', columns, rows)];
}
