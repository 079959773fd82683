import { slopeAreaOf, sumOf } from '../../reading/roof-area.ts';
import type { RoofRecord } from '../../roof/record.ts';
import { crsOf, type HandoverOptions } from '../handover-kind.ts';
import { northOf } from '../north.ts';
import { siteName } from '../paper/building-sheet.ts';
import { numberRuns } from '../paper/number-runs.ts';
import { planSheets } from '../plan-sheets.ts';
import { recordDate } from '../record-date.ts';
import { facts, heading, paragraph, plain, type Block, type Report, type TableCell } from './block.ts';
import { buildingPart } from './building-part.ts';
import { assumptionPart, CAUTIONS, decisionPart, inputPart, methodPart, missingPart } from './ground-parts.ts';
import { layoutPart, readingPart, smallFeaturePart, tapePart } from './question-parts.ts';

/** The whole content of a report: only what the record holds; an absent part says what it waits for. */
export function reportContent(record: RoofRecord, options: HandoverOptions = {}): Report {
  const title = siteName({ record, options });
  const sheets = planSheets(record, options);
  const blocks: Block[] = [...cover(record, options)];
  const site = sheets.find((sheet) => sheet.of === 'site');
  if (site !== undefined) blocks.push({ kind: 'sheet', sheet: site });
  for (const building of record.buildings) blocks.push(...buildingPart(record, building, sheets.find((sheet) => sheet.of === building.id)!));
  blocks.push(
    ...smallFeaturePart(record),
    ...tapePart(record),
    ...layoutPart(record),
    ...readingPart(record),
    ...assumptionPart(record, options),
    ...missingPart(record),
    ...methodPart(record),
    heading(1, 'Cautions'),
    { kind: 'caution', items: CAUTIONS },
    ...decisionPart(record),
    ...inputPart(record),
  );
  return {
    title,
    subtitle: 'Roof measurement report',
    date: recordDate(record),
    foot: `${title}. Record ${record.sources[0]?.sha256.slice(0, 12) ?? 'without source'}, roofdatum ${record.madeBy.version}, seed ${record.madeBy.seed}.`,
    blocks,
  };
}

function cover(record: RoofRecord, options: HandoverOptions): Block[] {
  const { sampling, frame } = record;
  const signed = record.decisions.filter((one) => one.what === 'sign');
  return [
    facts('The roof in short', shortFacts(record)),
    facts('This survey', [
      ['sources', plain(record.sources.map((source) => source.file).join(', '))],
      ['coordinates', plain(crsOf(record, options) ?? 'local, no projection stated')],
      ['north', plain(northOf(record) === 'true' ? `true; true bearing = grid bearing + ${frame.gridToTrueDeg.toFixed(2)}°` : 'grid of the source; true north is not known without a projection')],
      ['point spacing, noise', plain(`${(sampling.pointSpacingM * 1000).toFixed(0)} mm, ${(sampling.noiseM * 1000).toFixed(1)} mm`)],
      ['signed', plain(signed.length === 0 ? 'not signed yet' : signed.map((one) => `${one.by} (${one.about}, ${one.at.slice(0, 10)})`).join('; '))],
    ]),
    heading(2, 'Before anyone climbs'),
    { kind: 'caution', items: CAUTIONS },
    paragraph('Heavy digits are firm. Light digits lie inside the ±, which holds the true value in 95 of 100 cases. Where no number can be defended, the reason stands in its place.', 'How to read the numbers:'),
  ];
}

/** More buildings than this stand in the site plan's table only. */
const LISTED_ON_COVER = 8;

function shortFacts(record: RoofRecord): [string, TableCell][] {
  const count = (pick: (building: RoofRecord['buildings'][number]) => number): string => String(record.buildings.reduce((sum, building) => sum + pick(building), 0));
  const rows: [string, TableCell][] = [
    ['buildings', plain(String(record.buildings.length))],
    ['roof planes', plain(count((building) => building.roofPlanes.length))],
    ['obstructions', plain(count((building) => building.obstructions.length))],
  ];
  rows.push(['slope area of all buildings', numberRuns(sumOf(record.buildings.map((building) => slopeAreaOf(building))), 'area')]);
  const listed = record.buildings.length > 1 && record.buildings.length <= LISTED_ON_COVER ? record.buildings : [];
  for (const building of listed) {
    const area = slopeAreaOf(building);
    rows.push([`slope area of ${building.id}`, numberRuns(area, 'area')]);
  }
  const verify = record.smallFeatures.filter((thing) => thing.verifyOnSite).length;
  rows.push(['to verify on site', plain(`${verify} small features`)]);
  rows.push(['tape check', plain(record.tape === null ? 'waits for readings' : `${record.tape.verdict}, ${record.tape.count} ${record.tape.count === 1 ? 'reading' : 'readings'} compared`)]);
  rows.push(['usable area', record.usable === null ? plain('waits for rules') : numberRuns(record.usable.totalM2, 'area')]);
  rows.push(['modules', plain(record.layout === null ? 'waits for a layout' : `${record.layout.count}, ${record.layout.ratedPowerKw.toFixed(2)} kW rated`)]);
  return rows;
}
