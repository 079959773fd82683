import { MEASURED_AS, measuredAsSentence, partsText, planeSentences, ruleText, thingSentences } from '../../reading/evidence-words.ts';
import { slopeAreaOf } from '../../reading/roof-area.ts';
import { partNames } from '../../roof/part-names.ts';
import { cueWords } from '../../roof/drain-cues.ts';
import type { Building, EdgeKind, RoofRecord } from '../../roof/record.ts';
import { isKnown, measured, missing, type Measured } from '../../units/measured.ts';
import { writeCount } from '../../units/written-reading.ts';
import { northOf } from '../north.ts';
import { lowPointWord } from '../paper/building-sheet.ts';
import { numberRuns } from '../paper/number-runs.ts';
import type { PlanSheet } from '../plan-sheets.ts';
import { column, firm, heading, paragraph, plain, table, type Block, type TableCell } from './block.ts';

/** Everything the report says of one building. */
export function buildingPart(record: RoofRecord, building: Building, sheet: PlanSheet): Block[] {
  const names = partNames(record);
  const name = (id: string): string => names.get(id) ?? id;
  return [
    { kind: 'sheet', sheet },
    heading(1, `Building ${building.id}`),
    paragraph(summary(building)),
    ...planeTable(building, name, northOf(record)),
    ...planeEvidence(building, name),
    ...edgeTables(building, name),
    ...ruleTable(building, name),
    ...obstructionTable(building, name),
    ...parapetTable(building, name),
    ...thingEvidence(building, name),
    ...lowPointTable(building, name),
  ];
}

function summary(building: Building): string {
  const ground = building.groundElevationM.value === null ? `Ground: ${building.groundElevationM.why}; heights above ground are not given.` : 'Heights above ground are from the ground seen round the building.';
  return `${counted(building.roofPlanes.length, 'roof plane')}, ${counted(building.edges.length, 'edge')}, ${counted(building.obstructions.length, 'obstruction')}. ${ground}`;
}

const counted = (count: number, what: string): string => `${count} ${what}${count === 1 ? '' : 's'}`;

type NameOf = (id: string) => string;

function planeTable(building: Building, name: NameOf, north: 'true' | 'grid'): Block[] {
  const columns = [column('', 0.08), column('pitch', 0.16, 'end'), column(`azimuth, ${north}`, 0.18, 'end'), column('slope area', 0.2, 'end'), column('plan area', 0.2, 'end'), column('points', 0.09, 'end'), column('RMS mm', 0.09, 'end')];
  const rows = building.roofPlanes.map((plane) => [
    firm(name(plane.id)),
    numberRuns(plane.pitchDeg, 'pitch'),
    numberRuns(plane.azimuthDeg, 'bearing'),
    numberRuns(plane.slopeAreaM2, 'area'),
    numberRuns(plane.planAreaM2, 'area'),
    plain(writeCount(plane.pointCount)),
    plain((plane.residualRmsM * 1000).toFixed(1)),
  ]);
  const total = [firm('all'), plain(''), plain(''), numberRuns(slopeAreaOf(building), 'area'), building.roofArea ? numberRuns(building.roofArea.planAreaM2, 'area') : plain(''), plain(''), plain('')];
  return [table('Roof planes', columns, [...rows, total]), paragraph('Areas are net of openings. RMS is the scatter of the points about the plane, not the uncertainty of its numbers. The ± of the total is that of all planes together: what one gains at a border its neighbour loses.')];
}

/** What each ± of a plane consists of, and what else stands behind its numbers. */
function planeEvidence(building: Building, name: NameOf): Block[] {
  const rows = [
    ...building.roofPlanes.flatMap((plane) => [
      ...partsRow(name(plane.id), 'pitch', plane.pitchDeg, '°'), ...partsRow(name(plane.id), 'azimuth', plane.azimuthDeg, '°'),
      ...partsRow(name(plane.id), 'slope area', plane.slopeAreaM2, ' m²'), ...partsRow(name(plane.id), 'plan area', plane.planAreaM2, ' m²'),
    ]),
    ...partsRow('all', 'slope area', slopeAreaOf(building), ' m²'),
    ...(building.roofArea ? partsRow('all', 'plan area', building.roofArea.planAreaM2, ' m²') : []),
  ];
  const said = building.roofPlanes.map((plane) => [firm(name(plane.id)), plain([...(plane.evidence?.notes ?? []).map((note) => `${note[0]!.toUpperCase()}${note.slice(1)}${note.endsWith('.') ? '' : '.'}`), ...planeSentences(plane, name)].join(' '))]);
  return [
    partsTable('What each ± consists of', rows),
    table('What stands behind the planes', [column('', 0.08), column('degrees of freedom, how they were told apart, corners in common, rules', 0.92)], said),
  ];
}

const partsTable = (title: string, rows: readonly (readonly TableCell[])[]): Block =>
  table(title, [column('', 0.08), column('number', 0.16), column('±', 0.16, 'end'), column('its parts, largest first; the root of the sum of their squares is the ±', 0.6)], rows);

/** A row with the parts of a ±; none where they are not known. */
const partsRow = (name: string, what: string, number: Measured, unit: string): TableCell[][] =>
  (isKnown(number) && number.parts ? [[firm(name), plain(what), plain(`${twoDigits(number.u95)}${unit}`), plain(partsText(number.parts, (u95) => `${twoDigits(u95)}${unit}`))]] : []);

const twoDigits = (value: number): string => String(Number(value.toPrecision(2)));

/** Rules that sides were judged by. */
function ruleTable(building: Building, name: NameOf): Block[] {
  const judged = building.edges.filter(({ regular }) => regular?.tests && regular.tests.length > 0);
  if (judged.length === 0) return [];
  const rows = judged.map((edge) => [firm(name(edge.id)), plain(edge.regular!.tests!.map((test) => ruleText(test)).join('; ')), plain(edge.regular!.off ? 'left out by a person' : edge.regular!.kept.length > 0 ? shiftText(edge.regular!.shiftM) : 'stays')]);
  return [
    table('Rules that sides of buildings keep', [column('', 0.1), column('judged by chi-square against the scatter of the side', 0.7), column('drawn so it moves', 0.2, 'end')], rows),
    paragraph('All numbers of this report are of the sides as measured. Sides drawn to rules are handed over beside them, as map features, where no person left the rules out.'),
  ];
}

const shiftText = (metres: number): string => (metres < 0.0005 ? 'below 1 mm' : `${(1000 * metres).toFixed(0)} mm`);

function thingEvidence(building: Building, name: NameOf): Block[] {
  const rows = building.obstructions.filter(({ evidence }) => evidence).map((thing) => [firm(name(thing.id)), plain([...thingSentences(thing, true), ...thingSentences(thing, false)].join(' '))]);
  const parts = [
    ...building.obstructions.flatMap((thing) => [...partsRow(name(thing.id), 'plan area', thing.planAreaM2, ' m²'), ...partsRow(name(thing.id), 'height', thing.heightAboveRoofM, ' m')]),
    ...building.parapets.flatMap((one) => [...partsRow(name(one.id), 'height', one.heightAboveRoofM, ' m'), ...partsRow(name(one.id), 'thickness', one.thicknessM, ' m')]),
  ];
  return [
    ...(parts.length === 0 ? [] : [partsTable('What the ± of things and parapets consists of', parts)]),
    ...(rows.length === 0 ? [] : [table('What heights and footprints rest on', [column('', 0.08), column('', 0.92)], rows)]),
  ];
}

function edgeTables(building: Building, name: NameOf): Block[] {
  if (building.edges.length === 0) return [heading(2, 'Edges'), paragraph('No edge was found.')];
  const byKind = new Map<EdgeKind, Measured[]>();
  for (const edge of building.edges) byKind.set(edge.kind, [...(byKind.get(edge.kind) ?? []), edge.slopeLengthM]);
  const sums = [...byKind].map(([kind, lengths]) => [plain(kind), plain(String(lengths.length)), numberRuns(sumOf(lengths), 'length')]);
  const columns = [column('', 0.08), column('kind', 0.14), column('measured as', 0.16), column('slope length', 0.22, 'end'), column('sideways ±', 0.11, 'end'), column('joins', 0.12, 'end'), column('note', 0.17)];
  const rows = building.edges.map((edge): TableCell[] => [
    firm(name(edge.id)),
    plain(edge.kind),
    plain(edge.measuredAs ? MEASURED_AS[edge.measuredAs] : 'not said'),
    numberRuns(edge.slopeLengthM, 'length'),
    plain(edge.positionM && isKnown(edge.positionM) ? `${(1000 * edge.positionM.u95).toFixed(0)} mm` : ''),
    plain(edge.planes.map(name).join(', ')),
    plain(edge.note ?? ''),
  ]);
  return [
    table('Edge lengths by kind', [column('kind', 0.4), column('count', 0.2, 'end'), column('slope length together', 0.4, 'end')], sums),
    table('Edges, slope length', columns, rows),
    ...lengthParts(building, name),
    paragraph('Cover edge: where the roof cover ends, not the gutter and not the wall. Upright face: the wall or parapet that the plane runs up to. Planes meet: the line of two fitted planes. Limit of points: no side could be counted, only where points end.'),
    ...building.edges.filter(({ convertedFrom }) => convertedFrom).map((edge) => paragraph(`${name(edge.id)}: ${measuredAsSentence(edge)}`)),
  ];
}

/** Most lengths have two parts; those of others, of hands and stated offsets, are told one by one. */
function lengthParts(building: Building, name: NameOf): Block[] {
  const others = building.edges.filter(({ slopeLengthM }) => isKnown(slopeLengthM) && slopeLengthM.parts?.some((part) => part.name !== 'ends' && part.name !== 'scale'));
  return [
    paragraph(`The ± of a slope length consists of its ends and of the scale of the whole model${others.length > 0 ? '; of those below, of more' : ''}. Sideways ±: where the line lies.`),
    ...(others.length > 0 ? [partsTable('What the ± of these lengths consists of', others.flatMap((edge) => partsRow(name(edge.id), 'slope length', edge.slopeLengthM, ' m')))] : []),
  ];
}

/** Ends of edges are shared, so the ± are added. */
function sumOf(lengths: readonly Measured[]): Measured {
  let [value, u95] = [0, 0];
  for (const one of lengths) {
    if (one.value === null) return missing(`one has no length: ${one.why}`);
    value += one.value;
    u95 += one.u95;
  }
  return measured(value, [{ name: 'edges', u95 }]);
}

function obstructionTable(building: Building, name: NameOf): Block[] {
  if (building.obstructions.length === 0) return [heading(2, 'Obstructions'), paragraph('None was found on this roof. What is smaller than the survey resolves may still be there.')];
  const columns = [column('', 0.08), column('on', 0.07), column('shape', 0.12), column('in this survey', 0.14), column('plan area', 0.19, 'end'), column('height above roof', 0.2, 'end'), column('note', 0.2)];
  const rows = building.obstructions.map((thing) => [
    firm(name(thing.id)),
    plain(name(thing.onPlane)),
    plain(thing.shape),
    plain(thing.resolvability),
    numberRuns(thing.planAreaM2, 'area'),
    numberRuns(thing.heightAboveRoofM, 'length'),
    plain(thing.note ?? ''),
  ]);
  return [table('Obstructions', columns, rows)];
}

function parapetTable(building: Building, name: NameOf): Block[] {
  if (building.parapets.length === 0) return [];
  const columns = [column('', 0.2), column('height above roof', 0.4, 'end'), column('thickness', 0.4, 'end')];
  return [table('Parapets', columns, building.parapets.map((one) => [firm(name(one.id)), numberRuns(one.heightAboveRoofM, 'length'), numberRuns(one.thicknessM, 'length')]))];
}

function lowPointTable(building: Building, name: NameOf): Block[] {
  if (building.lowPoints.length === 0) return [];
  const columns = [column('', 0.07), column('depth', 0.17, 'end'), column('plan area that drains to it', 0.17, 'end'), column('under water before it spills, plan', 0.18, 'end'), column('drain here', 0.14), column('what speaks for it', 0.27)];
  const rows = building.lowPoints.map((one) => [firm(name(one.id)), numberRuns(one.depthM, 'length'), numberRuns(one.drainedPlanAreaM2, 'area'), one.pond ? numberRuns(one.pond.planAreaM2, 'area') : plain(''), plain(lowPointWord(one)), plain(cueWords(one) || (one.note ?? ''))]);
  return [table('Low points', columns, rows), ...(building.lowPoints.some(({ pond }) => pond) ? [paragraph(POND_CAUTION)] : [])];
}

const POND_CAUTION =
  'Dotted rings on the plan show what could hold water before it spills, on the dry roof as measured. A loaded deck bends further: water that stands longer than two days after rain (common usage of the trade) is for a roofer and a structural engineer to judge.';
