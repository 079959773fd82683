import { METRES_PER_FOOT, METRES_PER_INCH } from './parse-length.ts';
import type { UnitChoice } from './written-reading.ts';

/** A unit numbers are typed and shown in without writing it each time. */
export interface UnitInUse {
  readonly word: string;
  /** Size of one. [m] */
  readonly metres: number;
}

/** The unit of a length that is typed without one. */
export const lengthUnit = ({ length }: UnitChoice): UnitInUse =>
  length === 'ft-in' ? { word: 'ft', metres: METRES_PER_FOOT } : length === 'mm' ? { word: 'mm', metres: 0.001 } : { word: 'm', metres: 1 };

/** The unit of what is small: widths of pipes, distances of points from a plane. */
export const smallUnit = ({ length }: UnitChoice): UnitInUse => (length === 'ft-in' ? { word: 'in', metres: METRES_PER_INCH } : { word: 'mm', metres: 0.001 });

/** A length without a ±, to so many significant digits: what a cloud is like, how thick a strip is; no size of the roof. */
export function shortLength(metres: number, units: UnitChoice, digits = 2): string {
  const large = units.length === 'ft-in' ? { word: 'ft', metres: METRES_PER_FOOT } : { word: 'm', metres: 1 };
  const unit = Math.abs(metres) < large.metres ? smallUnit(units) : large;
  return `${Number((metres / unit.metres).toPrecision(digits))} ${unit.word}`;
}

/** How a length is typed in the units in use, as an example: `0.85 m`, `850 mm`, `2' 9"`. */
export function exampleLength(metres: number, { length }: UnitChoice): string {
  if (length === 'mm') return `${Math.round(metres * 1000)} mm`;
  if (length === 'm') return `${metres.toFixed(2)} m`;
  const inches = Math.round(metres / METRES_PER_INCH);
  return inches < 12 ? `${inches}"` : `${Math.floor(inches / 12)}' ${inches % 12}"`;
}
