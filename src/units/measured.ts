/**
 * A number as it stands in a record: its value with a 95 % uncertainty, or the named reason why there is none.
 * The unit stands in the name of the field that holds it (`pitchDeg`, `slopeAreaM2`).
 */
export type Measured = MeasuredValue | MissingValue;

export interface MeasuredValue {
  readonly value: number;
  /** Half width of the interval that holds the truth in 95 of 100 cases, same unit as `value`. */
  readonly u95: number;
  /** What `u95` consists of: root sum of squares of the parts is `u95`. */
  readonly parts?: readonly UncertaintyPart[];
}

export interface MissingValue {
  readonly value: null;
  /** A short reason for a person: "level plane", "no ground seen". */
  readonly why: string;
}

/** One named share of an uncertainty, e.g. `fit`, `tilt`, `scale`, `edge`. */
export interface UncertaintyPart {
  readonly name: string;
  readonly u95: number;
}

export const missing = (why: string): MissingValue => ({ value: null, why });

/** Combines independent parts into a measured number. Parts are 95 % half widths in the unit of `value`. */
export function measured(value: number, parts: readonly UncertaintyPart[]): MeasuredValue {
  if (!Number.isFinite(value)) throw new RangeError(`Expected a finite value, got ${value}.`);
  let sumSquared = 0;
  for (const part of parts) sumSquared += part.u95 * part.u95;
  return { value, u95: Math.sqrt(sumSquared), parts };
}

export const isKnown = (number: Measured): number is MeasuredValue => number.value !== null;
