import { interiorPosition } from '../geometry/interior-position.ts';
import { planeElevationAt } from '../geometry/plane.ts';
import { add, type Vector3 } from '../geometry/vector.ts';
import { readTapeList, writeTapeList } from '../io/tape-list.ts';
import type { History } from '../survey/history.ts';
import type { Building, Obstruction, RoofPlane, RoofRecord } from '../roof/record.ts';
import { deviceSigma, type TapeDevice } from '../site/tape-device.ts';
import type { TapeConditions, TapeKind, TapeReading } from '../site/tape-reading.ts';
import { InputError } from '../units/input-error.ts';
import { typedLength } from '../units/typed-length.ts';
import type { UnitInUse } from '../units/unit-in-use.ts';
import { writtenDown } from '../units/written-down.ts';

/** One sigma where no instrument is named: a steel tape held by hand on a roof, an inclinometer. Common practice, no source. */
const PLAIN_SIGMA_M = 0.005;
const PLAIN_SIGMA_DEG = 0.2;

/** Readings taken on site so far, as the record keeps them with its last check. */
export const tapeReadingsOf = (history: History | null): readonly TapeReading[] => history?.record.tape?.taken ?? [];

/** What can be taped: every edge of at least a metre, every distance or height measured by hand, pitches, heights of things, and what has no place yet. */
export interface Tapeable {
  readonly key: string;
  readonly name: string;
  readonly kind: TapeKind;
  /** Local frame; none: the place is shown afterwards. Places within planes and things are searched for when first asked. [m] */
  readonly ends: readonly Vector3[];
}

/** @param on  The building whose parts are offered; null for all of the site. */
export function tapeables(record: RoofRecord, names: ReadonlyMap<string, string>, on: string | null = null): Tapeable[] {
  const several = record.buildings.length > 1;
  const buildings = record.buildings.filter(({ id }) => on === null || id === on);
  const nameOf = (id: string, building: Building): string => `${names.get(id)}${several ? ` of ${building.id}` : ''}`;
  const edges = buildings.flatMap((building) =>
    building.edges
      .filter(({ slopeLengthM }) => (slopeLengthM.value ?? 0) >= 1)
      .map((edge): Tapeable => ({ key: edge.id, name: `${edge.kind} ${nameOf(edge.id, building)}`, kind: 'distance', ends: [edge.from, edge.to] })));
  const byHand = record.readings.flatMap(({ id, kind, picks }): Tapeable[] => {
    const taped = kind === 'distance' ? 'distance' : kind === 'height-difference' ? 'height-difference' : null;
    return taped ? [{ key: id, name: `${kind.replace('-', ' ')} ${names.get(id)}`, kind: taped, ends: picks.map(({ at }) => at) }] : [];
  });
  const pitches = buildings.flatMap((building) => building.roofPlanes.map((plane): Tapeable => ({
    key: `pitch ${plane.id}`, name: `pitch of ${nameOf(plane.id, building)}`, kind: 'pitch', get ends() { return [insideOf(plane)]; },
  })));
  const heights = buildings.flatMap((building) => building.obstructions.map((thing): Tapeable => ({
    key: `height ${thing.id}`, name: `height above roof of ${nameOf(thing.id, building)}`, kind: 'height-above-roof', get ends() { return [onThing(thing)]; },
  })));
  return [...byHand, ...edges, ...pitches, ...heights, ...ELSEWHERE];
}

/** Typed first, shown afterwards. */
export const ELSEWHERE: readonly Tapeable[] = [
  { key: 'elsewhere distance', name: 'a distance, place shown later', kind: 'distance', ends: [] },
  { key: 'elsewhere height', name: 'a height difference, place shown later', kind: 'height-difference', ends: [] },
  { key: 'elsewhere pitch', name: 'a pitch, place shown later', kind: 'pitch', ends: [] },
  { key: 'elsewhere height above roof', name: 'a height above the roof, place shown later', kind: 'height-above-roof', ends: [] },
];

function insideOf(plane: RoofPlane): Vector3 {
  const { at } = interiorPosition([plane.outline, ...plane.holes]);
  return [at[0], at[1], planeElevationAt(plane, at)];
}

function onThing({ footprint }: Obstruction): Vector3 {
  const [x, y] = interiorPosition([footprint]).at;
  return [x, y, 0];
}

/** The instrument and how it was used, as a person chose and typed it. */
export interface TypedUse {
  readonly device: TapeDevice | null;
  readonly held: 'slope' | 'level';
  /** As typed, by field; absent or empty: not noted. */
  readonly noted: Readonly<Partial<Record<NotedCondition, string>>>;
}

export type NotedCondition = 'temperatureC' | 'riseM' | 'tensionN' | 'sectionMm2' | 'spanM' | 'massKgPerM';
/** What a laser or a level has no use for, and what only a distance can have. */
const OF_DISTANCES: readonly NotedCondition[] = ['riseM', 'spanM'];

const METRE: UnitInUse = { word: 'm', metres: 1 };

export const PLAIN_USE: TypedUse = { device: null, held: 'slope', noted: {} };

/**
 * A reading as a person typed it.
 *
 * @throws InputError when the text is no length, or no angle for a pitch.
 */
export function typedReading(what: Tapeable, text: string, number: number, by: string, at: string, origin: Vector3, use: TypedUse = PLAIN_USE, unit: UnitInUse = METRE): TapeReading {
  const isPitch = what.kind === 'pitch';
  const value = isPitch ? typedDegrees(text) : typedLength(text, unit.metres);
  const device = use.device !== null && (use.device === 'inclinometer') === isPitch ? use.device : undefined;
  const conditions: TapeConditions = {
    ...(what.kind === 'distance' && use.held === 'level' ? { held: 'level' as const } : {}),
    ...(isPitch ? {} : notedConditions(use, what.kind, unit.metres)),
  };
  return checked({
    id: `T${number}`, kind: what.kind, ends: what.ends.map((end) => add(end, origin)), value, ...(isPitch ? {} : writtenDown(text, unit.word)),
    sigma: device ? deviceSigma(device, value) : isPitch ? PLAIN_SIGMA_DEG : PLAIN_SIGMA_M, by, at, note: what.ends.length > 0 ? what.name : '',
    ...(device ? { device } : {}),
    ...(Object.keys(conditions).length > 0 ? { conditions } : {}),
  });
}

function notedConditions({ noted }: TypedUse, kind: TapeKind, bareM: number): TapeConditions {
  const typed = (Object.entries(noted) as [NotedCondition, string][]).filter(([field, text]) => text.trim() !== '' && (kind === 'distance' || !OF_DISTANCES.includes(field)));
  return Object.fromEntries(typed.map(([field, text]) => [field, OF_DISTANCES.includes(field) ? typedLength(text, bareM) : typedNumber(text, field.replace(/[A-Z].*/, ''), 'the unit beside it')]));
}

/** The same rules as for a list. @throws InputError in the words of the list. */
function checked(reading: TapeReading): TapeReading {
  try {
    readTapeList(writeTapeList([reading]), 'reading');
  } catch (error) {
    throw error instanceof InputError ? new InputError('reading', error.detail.replace(/^row 2, column /, '')) : error;
  }
  return reading;
}

const typedDegrees = (text: string): number => typedNumber(text.replace(/\s*(°|deg)\s*$/, ''), 'pitch', 'degrees');

function typedNumber(text: string, subject: string, unit: string): number {
  const value = Number(text.trim().replace(',', '.'));
  if (text.trim() === '' || !Number.isFinite(value)) throw new InputError(subject, `"${text}" is not a number of ${unit}.`);
  return value;
}

export { typedLength };
