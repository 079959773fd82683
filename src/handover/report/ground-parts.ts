import type { RoofRecord } from '../../roof/record.ts';
import { assumedPhrases } from '../../survey/measure/assumed.ts';
import { isKnown, type Measured } from '../../units/measured.ts';
import { writeCount } from '../../units/written-reading.ts';
import { northOf } from '../north.ts';
import { crsOf, type HandoverOptions } from '../handover-kind.ts';
import { column, facts, firm, heading, paragraph, plain, table, type Block, type TableCell } from './block.ts';

/** What had to be taken for granted. */
export function assumptionPart(record: RoofRecord, options: HandoverOptions): Block[] {
  const items = record.sources.flatMap((source) => source.notes.map((note) => `${source.file}: ${note}`));
  if (crsOf(record, options) === null) items.push('No projection was stated: positions are local, and azimuths run from the grid north of the file.');
  items.push(controlSentence(record));
  items.push(datumSentence(record));
  if (record.frame.scaleFactor === 1) items.push('The scale factor of the map grid was taken as 1.');
  if (record.sampling.groundSampleDistanceM === null) items.push('No ground sample distance was stated: what the images could resolve is judged from point spacing alone.');
  if (record.tape === null) items.push('No tape reading was compared: the scale of the model was taken as it came.');
  return [heading(1, 'What was assumed'), { kind: 'list', items }];
}

/** How level, true to scale and well turned the survey was taken to be: what no cloud tells of itself. */
const controlSentence = (record: RoofRecord): string => `Control of the survey, 95 %: ${assumedPhrases(record).join(', ')}. These stand in every number as parts of their own.`;

/** Heights and places hang on what the files call zero; nothing in a cloud tells of it. */
function datumSentence({ tape, frame, corrections }: RoofRecord): string {
  const moved = corrections?.some(({ kind }) => kind === 'shift') ? ' The model was moved to surveyed checkpoints.' : '';
  const checked = tape?.site && isKnown(tape.site.upM) ? ` Checkpoints show the model ${(1000 * tape.site.upM.value).toFixed(0).replace('-', '−')} ± ${(1000 * tape.site.upM.u95).toFixed(0)} mm high.` : ' No checkpoint was compared.';
  return `Datum: elevations are the file’s own, local zero at ${String(Number(frame.origin[2].toFixed(3))).replace('-', '−')} m of it; whether they are above sea level or above the ellipsoid is not known from the points. Lengths, areas and pitches do not hang on it, and no ± holds it.${checked}${moved}`;
}

/** Every number that could not be had, with its reason; equal reasons on many things are gathered. */
export function missingPart(record: RoofRecord): Block[] {
  const byReason = new Map<string, string[]>();
  const note = (id: string, what: string, number: Measured | undefined): void => {
    if (number === undefined || number.value !== null) return;
    const key = `${what}: ${number.why}`;
    byReason.set(key, [...(byReason.get(key) ?? []), id]);
  };
  for (const building of record.buildings) {
    note(building.id, 'ground elevation', building.groundElevationM);
    for (const plane of building.roofPlanes) {
      note(plane.id, 'pitch', plane.pitchDeg);
      note(plane.id, 'azimuth', plane.azimuthDeg);
      note(plane.id, 'slope area', plane.slopeAreaM2);
      note(plane.id, 'plan area', plane.planAreaM2);
    }
    for (const edge of building.edges) note(edge.id, 'slope length', edge.slopeLengthM);
    for (const parapet of building.parapets) {
      note(parapet.id, 'parapet height', parapet.heightAboveRoofM);
      note(parapet.id, 'parapet thickness', parapet.thicknessM);
    }
    for (const thing of building.obstructions) {
      note(thing.id, 'height above roof', thing.heightAboveRoofM);
      note(thing.id, 'plan area', thing.planAreaM2);
    }
    for (const low of building.lowPoints) note(low.id, 'depth', low.depthM);
  }
  for (const thing of record.smallFeatures) {
    note(thing.id, 'width', thing.widthM);
    note(thing.id, 'height', thing.heightM);
  }
  const rows = [...byReason].map(([reason, ids]) => [plain(reason), plain(shortList(ids))]);
  const always = paragraph('Never measured from above: strength and build-up of the roof, soffits, walls, what lies under standing water or behind parapets, live parts.');
  return [heading(1, 'What could not be measured'), always, ...(rows.length === 0 ? [] : [table('Numbers without a value', [column('what and why', 0.5), column('where', 0.5)], rows)])];
}

const LISTED = 12;

const shortList = (ids: readonly string[]): string => (ids.length <= LISTED ? ids.join(', ') : `${ids.slice(0, LISTED).join(', ')} and ${ids.length - LISTED} more`);

/** How numbers came about. */
export function methodPart(record: RoofRecord): Block[] {
  const methods = new Map<string, string[]>();
  for (const plane of record.buildings.flatMap((building) => building.roofPlanes)) {
    const method = plane.evidence?.method ?? 'method not stored';
    methods.set(method, [...(methods.get(method) ?? []), plane.id]);
  }
  const { noiseM, correlationLengthM, pointSpacingM } = record.sampling;
  return [
    heading(1, 'How the numbers were made'),
    paragraph('Every number comes from the points of the survey. Digits worth at least the ± are set heavy, smaller ones light. A ± holds the true value in 95 of 100 cases; it joins the scatter of the points, the correlation of their errors over distance, and the sureness of each edge. Its parts are independent and join as the root of the sum of their squares; 95 % is 1.96 standard deviations, more where few points show the scatter (Student, GUM G.3).'),
    paragraph(`Points stand ${mm(pointSpacingM)} mm apart; about a roof plane they scatter by ${mm(noiseM)} mm (one sigma), with errors alike over ${correlationLengthM.toFixed(2)} m.`),
    paragraph(`Azimuth is the bearing of steepest descent from ${northOf(record)} north. Slope lengths and areas run along the surface; plan = slope × cosine of the pitch. Residuals are ours minus tape.`),
    table('Fits', [column('method', 0.5), column('planes', 0.5)], [...methods].map(([method, ids]) => [plain(method), plain(shortList(ids))])),
  ];
}

const mm = (metres: number): string => (metres * 1000).toFixed(1);

/** Where work can hurt someone. */
export const CAUTIONS: readonly string[] = [
  'Roof access and falls: stay off a roof without fall protection; skylights and old sheets do not carry a person. Work at height is for trained persons.',
  'Live parts: solar strings are live in daylight, and service lines may hang near the roof. Only a licensed electrician works on them.',
  'Structural load: this report says nothing about what the roof can carry. A licensed structural engineer decides on modules, ballast, snow and wind.',
  'Fire access: setbacks and walkways here follow the rules named in this report; the local code and the fire authority decide.',
];

/** Decisions of people, and room to sign. */
export function decisionPart(record: RoofRecord): Block[] {
  const rows = record.decisions.map((one) => [plain(one.at.replace('T', ' ').replace(/(\.\d+)?Z$/, ' UTC')), plain(one.by), firm(one.what), plain(one.about), plain(one.why ?? '')]);
  const columns = [column('when', 0.25), column('by', 0.18), column('decided', 0.12), column('about', 0.15), column('why', 0.3)];
  return [
    heading(1, 'Decisions and signatures'),
    rows.length === 0 ? paragraph('Nobody has accepted, corrected or signed anything yet: all answers are as the program found them.') : table('Decisions', columns, rows),
    { kind: 'signatures', roles: ['measured', 'checked by tape', 'released'] },
  ];
}

/** What went in, so that it can be made again. */
export function inputPart(record: RoofRecord): Block[] {
  const { madeBy, frame, sampling } = record;
  const blocks: Block[] = [heading(1, 'Inputs, versions, parameters')];
  for (const source of record.sources) {
    blocks.push(
      facts(source.file, [
        ['SHA-256', plain(source.sha256)],
        ['format', plain(source.format)],
        ['points, triangles', plain(`${writeCount(source.pointCount)}, ${writeCount(source.triangleCount)}`)],
        ['metres in one unit', plain(String(source.unitToMetre))],
        ['projection', plain(source.crs ?? 'none stated')],
      ]),
    );
  }
  const options = Object.entries(madeBy.options).map(([name, value]): [string, TableCell] => [name, plain(typeof value === 'string' ? value : JSON.stringify(value) ?? 'not set')]);
  blocks.push(
    facts('Made by', [
      ['roofdatum', plain(madeBy.version)],
      ['record schema', plain(record.schema)],
      ['seed', plain(String(madeBy.seed))],
      ['local origin, m', plain(frame.origin.map((value) => String(Number(value.toFixed(4)))).join(', '))],
      ['grid to true north', plain(`${frame.gridToTrueDeg.toFixed(4)}°`)],
      ['scale factor', plain(String(frame.scaleFactor))],
      ['ground sample distance', plain(sampling.groundSampleDistanceM === null ? 'not stated' : `${(sampling.groundSampleDistanceM * 1000).toFixed(1)} mm`)],
      ...options,
    ]),
  );
  return blocks;
}
