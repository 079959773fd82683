import { add, length, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import type { RecordPick } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { typedLength } from '../../units/typed-length.ts';

/** From where a typed place is counted. */
export interface TypedFrom {
  /** The pick before; null when none is taken yet. */
  readonly last: RecordPick | null;
  /** Where the pointer points: a bare length runs that way. */
  readonly toward: Vector3 | null;
  /** `origin` + local = coordinates of the file in metres. */
  readonly origin: Vector3;
  /** Size of the unit of a length that is typed without one. [m] */
  readonly bareM: number;
  /** Size of the unit of the file's own coordinates. [m] */
  readonly fileUnitM: number;
}

/** One sigma of what a person types from a tape, along each axis. Common practice, no source. [m] */
const TYPED_SIGMA_M = 0.005;

/**
 * A place as a person types it: `3.5` runs that far from the last pick towards the pointer; `1.2; 0.4` and `1.2; 0.4; 0`
 * go east, north and up from it; `= 545210.4; 5934002.1; 21.3` is a place in the coordinates of the file. Lengths may
 * carry units.
 *
 * @throws InputError that says what was expected.
 */
export function typedPlace(text: string, { last, toward, origin, bareM, fileUnitM }: TypedFrom): RecordPick {
  const absolute = text.trim().startsWith('=');
  const parts = text.trim().replace(/^=/, '').split(';').map((part) => typedLength(part, absolute ? fileUnitM : bareM));
  if (absolute) {
    if (parts.length !== 3) throw new InputError('place', 'expected = x; y; z in the coordinates of the file.');
    return pickAt(subtract([parts[0]!, parts[1]!, parts[2]!], origin));
  }
  if (!last) throw new InputError('place', 'take the first place by pointing, or type = x; y; z.');
  if (parts.length > 3) throw new InputError('place', 'expected a length, or east; north; up.');
  if (parts.length > 1) return pickAt(add(last.at, [parts[0]!, parts[1]!, parts[2] ?? 0]));
  const along = toward ? subtract(toward, last.at) : null;
  if (!along || length(along) < 1e-6) throw new InputError('length', 'point where it shall run first.');
  return pickAt(add(last.at, scale(along, parts[0]! / length(along))));
}

const pickAt = (at: Vector3): RecordPick => ({ at, landedOn: 'typed', of: null, sigmaM: [TYPED_SIGMA_M, TYPED_SIGMA_M, TYPED_SIGMA_M] });
