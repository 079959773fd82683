import type { Vector3 } from '../geometry/vector.ts';
import { InputError } from '../units/input-error.ts';
import type { CrsStatement } from './crs-statement.ts';
import { degreesRefusal, looksLikeDegrees } from './degrees.ts';
import { hintsWithoutCrs, placeInArea } from './place-in-area.ts';
import { readStatements, type KnownStatement } from './known-statement.ts';
import { projectedEntryOf, projectionOfEntry } from './projection.ts';
import type { ProjectedEntry } from './epsg/epsg-entry.ts';
import { settleUnits } from './settle-units.ts';

export interface CrsQuestion {
  /** File name, for messages. */
  readonly name: string;
  readonly statements: readonly CrsStatement[];
  /** Source unit, z up. */
  readonly bounds: { readonly min: Vector3; readonly max: Vector3 };
}

/** What a person says about a file; it goes before what the file says. */
export interface CrsOverrides {
  readonly unit?: 'm' | 'ft' | 'us-ft';
  readonly crs?: string;
}

export interface ResolvedCrs {
  /** `EPSG:n` of the projected system; null when nothing tells it. */
  readonly crs: string | null;
  readonly unitToMetre: number;
  readonly verticalUnitToMetre: number;
  /** Everything assumed, found missing or in contradiction, one sentence each. */
  readonly notes: readonly string[];
}

/**
 * Settles projection and unit of a file: compares what it says with itself, with the table of coordinate systems, with its own
 * coordinates and with what a person says. A contradiction always becomes a note; nothing is chosen silently.
 *
 * @throws InputError for degrees, with advice, and for a `crs` that is not a projected system.
 */
export async function resolveCrs({ name, statements, bounds }: CrsQuestion, overrides: CrsOverrides): Promise<ResolvedCrs> {
  const notes: string[] = [];
  const known = await readStatements(statements, notes);
  const spherical = known.find(({ kind }) => kind === 'geographic' || kind === 'geocentric');
  if (looksLikeDegrees(bounds, spherical !== undefined) && overrides.unit === undefined) throw new InputError(name, degreesRefusal(spherical));
  if (spherical?.kind === 'geocentric' && overrides.crs === undefined) throw new InputError(name, degreesRefusal(spherical));
  if (spherical) notes.push(`Contradiction: the file states ${spherical.label}, in degrees (${spherical.origin}), and its coordinates are no degrees.`);
  const entry = await chooseEntry(known, bounds, overrides, notes);
  const units = settleUnits(known, entry, overrides.unit, bounds, notes);
  if (entry) {
    notes.push(...placeInArea(await projectionOfEntry(entry), bounds, units.unitToMetre));
  } else {
    notes.push('The projection is not known: grid north is taken for true north, and grid lengths for ground lengths.');
    if (known.length === 0) notes.push(...hintsWithoutCrs(bounds, units.unitToMetre));
  }
  return { crs: entry ? `EPSG:${entry.code}` : null, ...units, notes };
}

async function chooseEntry(
  known: readonly KnownStatement[],
  bounds: CrsQuestion['bounds'],
  { crs, unit }: CrsOverrides,
  notes: string[],
): Promise<ProjectedEntry | null> {
  const stated = known.flatMap((statement) => (statement.entry ? [{ origin: statement.origin, entry: statement.entry }] : []));
  if (crs !== undefined) {
    const entry = await projectedEntryOf(crs, '--crs');
    const other = stated.find((candidate) => candidate.entry.code !== entry.code);
    if (other) notes.push(`Contradiction: the file states EPSG:${other.entry.code} (${other.origin}); EPSG:${entry.code} was asked for and is used.`);
    return entry;
  }
  const first = stated[0];
  if (!first) return null;
  const rivals = stated.filter((candidate) => candidate.entry.code !== first.entry.code);
  if (rivals.length === 0) return first.entry;
  const fitting: typeof stated = [];
  for (const candidate of [first, ...rivals]) {
    const trial = settleUnits(known, candidate.entry, unit, bounds, []);
    const problems = placeInArea(await projectionOfEntry(candidate.entry), bounds, trial.unitToMetre);
    if (problems.length === 0) fitting.push(candidate);
  }
  const chosen = fitting[0] ?? first;
  const list = [first, ...rivals].map(({ origin, entry }) => `EPSG:${entry.code} (${origin})`).join(' and ');
  notes.push(`Contradiction: the file states ${list}; EPSG:${chosen.entry.code} is used${fitting.length === 1 ? ', the only one whose area holds the coordinates' : ''}. Say --crs to decide.`);
  return chosen.entry;
}

/** What must be equal for two files to make one survey. */
export type SettledCrs = Pick<ResolvedCrs, 'crs' | 'unitToMetre' | 'verticalUnitToMetre'>;

/**
 * Why two files cannot make one survey.
 *
 * @returns A sentence for a person; null when they agree.
 */
export function differenceOf(a: SettledCrs, b: SettledCrs): string | null {
  if (a.crs !== b.crs) {
    const advice = a.crs === null || b.crs === null ? ` If both are in ${a.crs ?? b.crs}, say --crs ${a.crs ?? b.crs}.` : ' Bring them into one projection first.';
    return `projection ${b.crs ?? 'not known'} against ${a.crs ?? 'not known'}.${advice}`;
  }
  // The two feet differ by two parts in a million: 1 m at an easting of 500 km.
  const differs = (p: number, q: number): boolean => Math.abs(p / q - 1) > 1e-9;
  if (differs(a.unitToMetre, b.unitToMetre)) return `one unit is ${b.unitToMetre} m against ${a.unitToMetre} m. If one of them is wrong, open them one by one with --unit.`;
  if (differs(a.verticalUnitToMetre, b.verticalUnitToMetre)) return `one unit of height is ${b.verticalUnitToMetre} m against ${a.verticalUnitToMetre} m.`;
  return null;
}

/** True when two files can make one survey. */
export const sameProjection = (a: SettledCrs, b: SettledCrs): boolean => differenceOf(a, b) === null;
