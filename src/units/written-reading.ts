import type { Measured } from './measured.ts';

/** Units a person may read numbers in; the record itself stays in metres and degrees. */
export interface UnitChoice {
  readonly length: 'm' | 'mm' | 'ft-in';
  readonly pitch: 'deg' | 'percent' | 'in-12';
}

export const METRIC: UnitChoice = { length: 'm', pitch: 'deg' };

/** What a number measures, which decides the unit it is written in. */
export type Dimension = 'length' | 'area' | 'pitch' | 'bearing' | 'plain';

/**
 * A number as it is written: digits worth at least the ± are firm, digits smaller than it are soft.
 * `firm + soft` is the whole number.
 */
export interface WrittenReading {
  readonly firm: string;
  readonly soft: string;
  /** With its own leading space where one belongs: " m", "°". */
  readonly unit: string;
  readonly plusMinus: string;
}

const MINUS = '−';
const THIN_SPACE = ' ';
const FEET_PER_METRE = 1 / 0.3048;
const DEGREE = Math.PI / 180;

/**
 * Writes a measured number with its ± to two significant digits and the value to the same place (JCGM 100:2008, 7.2.6).
 *
 * @returns null for a missing value: its reason is to be shown instead.
 */
export function writeReading(number: Measured, dimension: Dimension, units: UnitChoice = METRIC): WrittenReading | null {
  if (number.value === null) return null;
  const { value, u95, unit } = converted(number.value, number.u95, dimension, units);
  if (unit === 'ft-in') return feetAndInches(value, u95);
  const places = decimalPlaces(u95);
  const step = leastStep(u95);
  const [firm, soft] = splitDigits(grouped(inSteps(value, step).toFixed(places)), u95);
  return { firm, soft, unit, plusMinus: grouped(inSteps(u95, step).toFixed(places)) };
}

/** The same reading as one plain line: "42.31° ± 0.20". */
export function plainReading(number: Measured, dimension: Dimension, units: UnitChoice = METRIC): string {
  const written = writeReading(number, dimension, units);
  if (!written) return number.value === null ? number.why : '';
  return `${written.firm}${written.soft}${written.unit} ± ${written.plusMinus}`;
}

/** Decimals that show a ± with two significant digits. A ± of exactly 0 is written to a tenth of a thousandth. */
export function decimalPlaces(u95: number): number {
  if (!(u95 > 0)) return 4;
  // Rounding first: 0.0996 has its two digits one place earlier than its logarithm says.
  const rounded = Number(u95.toPrecision(2));
  return Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(rounded))));
}

/** What a ± of 100 and more is written in steps of, so that it too has two digits: 10, 100 and so on; 1 below. */
const leastStep = (u95: number): number => (u95 > 0 ? 10 ** Math.max(0, Math.floor(Math.log10(Number(u95.toPrecision(2)))) - 1) : 1);

const inSteps = (value: number, step: number): number => (step > 1 ? Math.round(value / step) * step : value);

function converted(value: number, u95: number, dimension: Dimension, units: UnitChoice) {
  if (dimension === 'length') {
    if (units.length === 'mm') return { value: value * 1000, u95: u95 * 1000, unit: ' mm' };
    if (units.length === 'ft-in') return { value: value * FEET_PER_METRE, u95: u95 * FEET_PER_METRE, unit: 'ft-in' };
    return { value, u95, unit: ' m' };
  }
  if (dimension === 'area') {
    const square = FEET_PER_METRE * FEET_PER_METRE;
    return units.length === 'ft-in' ? { value: value * square, u95: u95 * square, unit: ' ft²' } : { value, u95, unit: ' m²' };
  }
  if (dimension === 'pitch' && units.pitch !== 'deg') {
    const factor = units.pitch === 'percent' ? 100 : 12;
    const slope = Math.tan(value * DEGREE);
    // d tan = (1 + tan²) d angle.
    return { value: slope * factor, u95: (1 + slope * slope) * u95 * DEGREE * factor, unit: units.pitch === 'percent' ? ' %' : ' in 12' };
  }
  return { value, u95, unit: dimension === 'plain' ? '' : '°' };
}

/** Splits written digits where their place value falls below the ±. */
function splitDigits(text: string, u95: number): [string, string] {
  const point = text.indexOf('.') < 0 ? text.length : text.indexOf('.');
  const wholeDigits = text.slice(0, point).replace(/\D/g, '').length;
  let place = 10 ** (wholeDigits - 1);
  let cut = text.length;
  for (let i = 0; i < text.length; i++) {
    if (!isDigit(text[i]!)) continue;
    if (place < u95 * (1 - 1e-9)) {
      cut = i;
      break;
    }
    place /= 10;
  }
  // Zeros in front of the first soft digit say nothing on their own.
  return /[1-9]/.test(text.slice(0, cut)) ? [text.slice(0, cut), text.slice(cut)] : ['', text];
}

const isDigit = (character: string): boolean => character >= '0' && character <= '9';

/** Groups thousands from five digits on, with a thin space; a true minus sign. */
function grouped(text: string): string {
  const negative = text.startsWith('-');
  const [whole, fraction] = text.replace('-', '').split('.') as [string, string | undefined];
  const spaced = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, THIN_SPACE) : whole;
  const isZero = !/[1-9]/.test(text);
  return `${negative && !isZero ? MINUS : ''}${spaced}${fraction === undefined ? '' : `.${fraction}`}`;
}

function feetAndInches(feet: number, u95Feet: number): WrittenReading {
  const u95 = u95Feet * 12;
  const places = decimalPlaces(u95);
  const total = Number((Math.abs(feet) * 12).toFixed(places));
  const whole = Math.floor(total / 12 + 1e-12);
  const [firmInches, softInches] = splitDigits((total - whole * 12).toFixed(places), u95);
  const sign = feet < 0 && total > 0 ? MINUS : '';
  const feetText = whole > 0 ? `${sign}${whole}′ ` : sign;
  const feetFirm = u95 <= 12 && whole > 0;
  return {
    firm: feetFirm ? feetText + firmInches : whole > 0 ? '' : feetText + firmInches,
    soft: feetFirm || whole === 0 ? softInches : feetText + firmInches + softInches,
    unit: '″',
    plusMinus: u95.toFixed(places),
  };
}

/** A count with thin spaces between thousands: "14 212". */
export const writeCount = (count: number): string => grouped(count.toFixed(0));
