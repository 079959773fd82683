import { METRES_PER_FOOT, METRES_PER_INCH } from './parse-length.ts';
import { writeReading, type UnitChoice } from './written-reading.ts';

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

/** The same choice for what is small: millimetres where metres were chosen. */
export const smallUnits = (units: UnitChoice): UnitChoice => (units.length === 'm' ? { ...units, length: 'mm' } : units);

/** A small length as a bare number of `smallUnit`: whole millimetres, hundredths of an inch. */
export function smallNumber(metres: number, units: UnitChoice): string {
  const text = (metres / smallUnit(units).metres).toFixed(units.length === 'ft-in' ? 2 : 0);
  return /[1-9]/.test(text) ? text.replace('-', '−') : text.replace('-', '');
}

/** A length as an instrument told it: no ±, written to a step of so many metres. */
export function toldLength(metres: number, units: UnitChoice, stepM = 0.001): string {
  // Two digits of a ± end at a tenth of it.
  const { firm, soft, unit } = writeReading({ value: metres, u95: 10 * stepM }, 'length', units)!;
  return `${firm}${soft}${unit}`;
}

/** An area without a ±, to a hundredth of a square metre. */
export function toldArea(squareMetres: number, units: UnitChoice): string {
  const { firm, soft, unit } = writeReading({ value: squareMetres, u95: 0.1 }, 'area', units)!;
  return `${firm}${soft}${unit}`;
}

const METRIC_LENGTHS = /([-−]?\d+(?:\.\d+)?)( ± (\d+(?:\.\d+)?))? (mm|cm|m)(?![\w²³/])/g;

/** A sentence of the record, whose lengths stand in metres and millimetres, with them in the unit in use, to as many digits. */
export function sentenceIn(sentence: string, units: UnitChoice): string {
  if (units.length === 'm') return sentence;
  return sentence.replace(METRIC_LENGTHS, (whole, value: string, _, u95: string | undefined, word: string) => {
    if (word === 'mm' && units.length === 'mm') return whole;
    const from = word === 'mm' ? 0.001 : word === 'cm' ? 0.01 : 1;
    const to = units.length === 'mm' ? { word: 'mm', metres: 0.001 } : word === 'm' ? lengthUnit(units) : smallUnit(units);
    // A step of 1 mm is 0.04 in and one of 0.01 m is 0.03 ft: the first digit that is not finer than what was written.
    const step = (from * 10 ** -(value.split('.')[1]?.length ?? 0)) / to.metres;
    const places = Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
    const written = (text: string): string => ((Number(text.replace('−', '-')) * from) / to.metres).toFixed(places).replace('-', '−');
    return `${written(value)}${u95 === undefined ? '' : ` ± ${written(u95)}`} ${to.word}`;
  });
}
