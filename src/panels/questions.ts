import { isStale } from '../survey/correct/follow-building.ts';
import { refusedIds } from '../roof/refused-ids.ts';
import type { Building, Decision, RoofRecord } from '../roof/record.ts';
import { slopeAreaOf, sumOf } from '../reading/roof-area.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import { onPage } from './page-words.ts';
import { shortLength } from '../units/unit-in-use.ts';
import { writeReading, type UnitChoice, type WrittenReading } from '../units/written-reading.ts';

export type QuestionNumber = 1 | 2 | 3 | 4 | 5 | 6 | 7;
export type QuestionState = 'open' | 'answered' | 'doubtful' | 'signed';

export interface Question {
  readonly number: QuestionNumber;
  readonly ask: string;
  /** Two sentences at most: what is looked at, and what it is for. */
  readonly explains: string;
}

export const QUESTIONS: readonly Question[] = [
  { number: 1, ask: 'Is the model sound?', explains: 'Units, scale, holes and noise are looked at first. Nothing is measured on a model that is not sound.' },
  { number: 2, ask: 'What is the roof?', explains: 'Planes and edges are found; you accept, correct or refuse each.' },
  { number: 3, ask: 'What is in the way?', explains: 'Chimneys, rooflights, units and parapets, with their height above the roof.' },
  { number: 4, ask: 'What is too small to trust?', explains: 'Drains, pipes and gutters. You are told which of them this survey can show, and which it cannot.' },
  { number: 5, ask: 'Does it agree with the tape?', explains: 'Type what the tape said. You are told whether the model agrees, why not, and what to tape next.' },
  { number: 6, ask: 'What fits?', explains: 'Keep-clear zones, usable area and module places, against the need.' },
  { number: 7, ask: 'What goes out?', explains: 'Drawings, tables and a report, with who decided what.' },
];

/** A line of words with readings in it. */
export type LinePiece = string | WrittenReading;

export interface Answer {
  readonly state: QuestionState;
  readonly line: readonly LinePiece[];
  /** "signed A.K. 09:12", or why an answer changed since. */
  readonly stateWords: string;
}

/** Answers of all seven questions as a record holds them; all open without one. */
export function answersOf(record: RoofRecord | null, units: UnitChoice): readonly Answer[] {
  if (!record) return QUESTIONS.map(() => open(''));
  const refused = refusedIds(record);
  const answers = [soundness(record, units), roof(record, refused, units), inTheWay(record, refused, units), tooSmall(record, refused), tape(record, units), fits(record, units), goesOut(record)];
  return answers.map((answer, i) => signed(answer, record.decisions, `q${i + 1}`));
}

const open = (words: string): Answer => ({ state: 'open', line: words === '' ? [] : [words], stateWords: 'open' });
const answered = (...line: LinePiece[]): Answer => ({ state: 'answered', line, stateWords: 'answered' });
const doubtful = (...line: LinePiece[]): Answer => ({ state: 'doubtful', line, stateWords: 'doubtful' });

/** A signature closes an answer until something is decided about the roof again. */
function signed(answer: Answer, decisions: readonly Decision[], about: string): Answer {
  const at = decisions.findLastIndex((decision) => decision.what === 'sign' && decision.about === about);
  if (at < 0 || answer.state === 'open') return answer;
  const { by, at: time } = decisions[at]!;
  const changed = decisions.slice(at + 1).some(({ what }) => what !== 'sign' && what !== 'note');
  if (changed) return { ...answer, stateWords: `changed since ${by} signed` };
  return { ...answer, state: 'signed', stateWords: `signed ${by} ${time.slice(11, 16)}` };
}

function soundness({ sampling, sources, buildings }: RoofRecord, units: UnitChoice): Answer {
  const noise = buildings.length > 0 ? shortLength(sampling.noiseM, units) : 'not known';
  const line = `spacing ${shortLength(sampling.pointSpacingM, units)}, noise ${noise}`;
  const warning = sources.flatMap(({ notes }) => notes).find(isWarning);
  if (warning) return doubtful(`${line}; ${onPage(warning)}`);
  return sources.some(({ crs }) => crs !== null) ? answered(line) : doubtful(`${line}; no projection stated`);
}

/** Notes that say a statement was doubted, not only repaired. */
export const isWarning = (note: string): boolean => /contradict|disagree|differ|does not fit|missing|assumed|not stated/i.test(note);

function roof(record: RoofRecord, refused: ReadonlySet<string>, units: UnitChoice): Answer {
  const planes = record.buildings.flatMap(({ roofPlanes }) => roofPlanes).filter(({ id }) => !refused.has(id));
  if (planes.length === 0) return doubtful('no roof plane was found');
  const holding = record.buildings.filter((building) => planesOf(building, refused).planes.length > 0);
  const total = writeReading(sumOf(holding.map((building) => slopeAreaOf(building, refused))), 'area', units);
  const unknown = record.buildings.flatMap(({ edges }) => edges).filter(({ id, kind }) => kind === 'unknown' && !refused.has(id)).length;
  const line: LinePiece[] = [`${count(planes.length, 'plane')}${record.buildings.length > 1 ? ` on ${record.buildings.length} buildings` : ''}, `, ...(total ? [total] : ['area not known'])];
  const stale = record.readings.filter((reading) => isStale(reading) && !refused.has(reading.id)).length;
  const doubts = [unknown > 0 ? `; ${count(unknown, 'edge')} of unknown kind` : '', stale > 0 ? `; ${count(stale, 'reading')} stale` : ''].join('');
  return doubts === '' ? answered(...line) : doubtful(...line, doubts);
}

function inTheWay(record: RoofRecord, refused: ReadonlySet<string>, units: UnitChoice): Answer {
  const accepted = acceptedIds(record);
  const things = record.buildings.flatMap(({ obstructions }) => obstructions).filter(({ id }) => !refused.has(id));
  const parapets = record.buildings.reduce((sum, building) => sum + building.parapets.length, 0);
  const walls = parapets > 0 ? `, ${count(parapets, 'parapet')}` : '';
  if (record.buildings.length === 0) return open('waits for a roof');
  if (things.length === 0) return answered(`nothing found${walls}`);
  const total = writeReading(sumOf(things.map(({ planAreaM2 }) => planAreaM2)), 'area', units);
  const unsure = things.filter((thing) => !accepted.has(thing.id) && isUnsure(thing)).length;
  const line: LinePiece[] = [`${count(things.length, 'thing')}${walls}`, ...(total ? ['; ', total] : [])];
  return unsure > 0 ? doubtful(...line, `; ${unsure} doubtful`) : answered(...line);
}

export const isUnsure = (thing: { readonly resolvability: string; readonly heightAboveRoofM: Measured }): boolean =>
  thing.resolvability !== 'resolved' || !isKnown(thing.heightAboveRoofM);

/** Ids of what a person accepted and did not refuse after. */
export function acceptedIds(record: RoofRecord): Set<string> {
  const accepted = new Set<string>();
  for (const { what, about } of record.decisions) {
    if (what === 'accept') accepted.add(about);
    if (what === 'refuse') accepted.delete(about);
  }
  return accepted;
}

function tooSmall(record: RoofRecord, refused: ReadonlySet<string>): Answer {
  const lows = record.buildings.flatMap(({ lowPoints }) => lowPoints).filter(({ id }) => !refused.has(id));
  const features = record.smallFeatures.filter(({ id }) => !refused.has(id));
  if (lows.length + features.length === 0) return { ...open('no low point found, nothing pinned yet') };
  const accepted = acceptedIds(record);
  const likely = lows.filter(({ verdict }) => verdict === 'likely').length;
  const unsure = lows.filter(({ id, verdict }) => verdict !== 'likely' && !accepted.has(id)).length + features.filter(({ id, resolvability }) => resolvability !== 'resolved' && !accepted.has(id)).length;
  const words = [lows.length > 0 ? `${count(lows.length, 'low point')}, ${likely} likely` : '', features.length > 0 ? `${count(features.length, 'feature')} pinned` : '', unsure > 0 ? `${unsure} to look at on site` : ''];
  const line = words.filter((word) => word !== '').join('; ');
  return unsure > 0 ? doubtful(line) : answered(line);
}

function tape({ tape: check }: RoofRecord, units: UnitChoice): Answer {
  if (!check) return open('no tape reading yet');
  const bias = writeReading(check.biasM, 'length', { ...units, length: units.length === 'm' ? 'mm' : units.length });
  const line: LinePiece[] = [`${count(check.taken?.length ?? check.count, 'reading')}: ${check.verdict}`, ...(bias ? [', bias ', bias] : [])];
  return check.verdict === 'agrees' ? answered(...line) : doubtful(...line);
}

function fits({ usable, layout }: RoofRecord, units: UnitChoice): Answer {
  if (layout) return answered(`${layout.count} modules, at most ${layout.upperBound}`);
  const area = usable ? writeReading(usable.totalM2, 'area', units) : null;
  return area ? answered('usable ', area) : open('no module chosen yet');
}

function goesOut({ decisions }: RoofRecord): Answer {
  const handed = decisions.filter(({ what, about }) => what === 'note' && about === 'q7').length;
  return handed > 0 ? answered(`${count(handed, 'file')} handed over`) : open('nothing handed over yet');
}

export const count = (number: number, noun: string): string => `${number} ${noun}${number === 1 ? '' : 's'}`;

/** Planes of one building that were not refused, with their sum. */
export function planesOf(building: Building, refused: ReadonlySet<string>) {
  const planes = building.roofPlanes.filter(({ id }) => !refused.has(id));
  return { planes, total: slopeAreaOf(building, refused) };
}
