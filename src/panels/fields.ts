import { add, type Vector3 } from '../geometry/vector.ts';
import type { History } from '../survey/history.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { TapeKind, TapeReading } from '../site/tape-reading.ts';
import { InputError } from '../units/input-error.ts';
import { parseLength } from '../units/parse-length.ts';

/** One sigma of a steel tape held by hand on a roof. Common practice, no source. [m] */
const TAPE_SIGMA_M = 0.005;

/** Readings taken on site so far: those of the last tape check that stands. */
export function tapeReadingsOf(history: History | null): readonly TapeReading[] {
  const steps = history?.steps.slice(0, history.done) ?? [];
  for (const { command } of steps.toReversed()) if (command.kind === 'check-tape') return command.readings;
  return [];
}

/** What can be taped: every edge of at least a metre, and every distance or height measured by hand. */
export interface Tapeable {
  readonly key: string;
  readonly name: string;
  readonly kind: TapeKind;
  /** Local frame. [m] */
  readonly ends: readonly Vector3[];
}

export function tapeables(record: RoofRecord, names: ReadonlyMap<string, string>): Tapeable[] {
  const several = record.buildings.length > 1;
  const edges = record.buildings.flatMap((building) =>
    building.edges
      .filter(({ slopeLengthM }) => (slopeLengthM.value ?? 0) >= 1)
      .map((edge): Tapeable => ({ key: edge.id, name: `${edge.kind} ${names.get(edge.id)}${several ? ` of ${building.id}` : ''}`, kind: 'distance', ends: [edge.from, edge.to] })));
  const byHand = record.readings.flatMap(({ id, kind, picks }): Tapeable[] => {
    const taped = kind === 'distance' ? 'distance' : kind === 'height-difference' ? 'height-difference' : null;
    return taped ? [{ key: id, name: `${kind.replace('-', ' ')} ${names.get(id)}`, kind: taped, ends: picks.map(({ at }) => at) }] : [];
  });
  return [...byHand, ...edges];
}

/**
 * A reading as a person typed it.
 *
 * @throws InputError when the text is no length.
 */
export function typedReading(what: Tapeable, text: string, number: number, by: string, at: string, origin: Vector3): TapeReading {
  const value = typedLength(text);
  return { id: `T${number}`, kind: what.kind, ends: what.ends.map((end) => add(end, origin)), value, sigma: TAPE_SIGMA_M, by, at, note: what.name };
}

/**
 * A length as a person types it; a bare number is in metres.
 *
 * @throws InputError when the text is no length.
 */
export function typedLength(text: string): number {
  try {
    return parseLength(/^[\d.,\s]+$/.test(text.trim()) ? `${text.trim().replace(',', '.')} m` : text);
  } catch (error) {
    throw new InputError('length', error instanceof RangeError ? `${error.message}.` : String(error));
  }
}
