import { aboutDevice } from '../site/tape-device.ts';
import type { TapeConditions, TapeReading } from '../site/tape-reading.ts';
import type { UncertaintyPart } from '../units/measured.ts';
import { cos, sin } from '../geometry/same-math.ts';

/** Expansion of tape steel. Ghilani and Wolf, Elementary Surveying, chapter 6 (value from memory); their worked examples use 11.0 to 11.6. [1/°C] */
export const STEEL_EXPANSION = 11.6e-6;
/** Young's modulus of tape steel, same source, from memory. [Pa] */
export const STEEL_MODULUS = 200e9;
/** Of free fall, CGPM 1901. [m/s²] */
const STANDARD_GRAVITY = 9.80665;
/** Directive 2014/32/EU, annex X (MI-008), chapter I, 1.1 and 1.2. */
const STANDARD_TEMPERATURE_C = 20;
const STANDARD_TENSION_N = 50;
/** A tape in the sun is this much warmer or colder than anybody noted, 95 %. Common practice, no source. [°C] */
const TEMPERATURE_U95_C = 5;
/** Pull by hand without a spring balance, 95 %, as a share. Common practice, no source. */
const TENSION_U95_SHARE = 0.2;
/** Rise or angle as noted, 95 %. Common practice, no source. */
const RISE_U95_M = 0.02;
const ANGLE_U95_DEG = 0.4;

const HANDBOOK = 'Ghilani and Wolf, Elementary Surveying, chapter 6';

export interface TapeCorrection {
  readonly name: 'temperature' | 'pull' | 'sag' | 'slope';
  /** Added to the reading. [m] */
  readonly amountM: number;
  /** With its numbers in. */
  readonly formula: string;
  readonly source: string;
}

export interface CorrectedReading {
  /** Metres, or degrees for a pitch, which is not corrected. */
  readonly value: number;
  readonly corrections: readonly TapeCorrection[];
  /** What the corrections themselves leave unsure. [m] */
  readonly parts: readonly UncertaintyPart[];
  /** True where the value is a distance in plan. */
  readonly isLevel: boolean;
}

/** A warm tape is long and reads short. [m] */
export const temperatureCorrection = (length: number, temperatureC: number, standardC = STANDARD_TEMPERATURE_C, expansion = STEEL_EXPANSION): number =>
  expansion * length * (temperatureC - standardC);

/** A tape pulled harder than at its test is long and reads short. @param sectionM2  Of the steel. [m] */
export const pullCorrection = (length: number, tensionN: number, standardN: number, sectionM2: number, modulus = STEEL_MODULUS): number =>
  ((tensionN - standardN) * length) / (sectionM2 * modulus);

/**
 * A hanging tape is longer than the straight line: −w² l³ / (24 P²) for each free span l, the first term of the catenary.
 *
 * @param weightNPerM  [N/m]
 */
export function sagCorrection(length: number, span: number, weightNPerM: number, tensionN: number): number {
  const spans = Math.floor(length / span + 1e-9);
  const rest = length - spans * span;
  return (-(weightNPerM ** 2) * (spans * span * span * span + rest * rest * rest)) / (24 * tensionN ** 2);
}

/** A length along the slope is longer than in plan, by its rise. [m] */
export const slopeCorrectionByRise = (length: number, rise: number): number => Math.sqrt(length * length - rise * rise) - length;
export const slopeCorrectionByAngle = (length: number, angleDeg: number): number => length * (cos((angleDeg * Math.PI) / 180) - 1);

/**
 * A reading with every correction its conditions allow, each shown for itself. Corrections for steel are made only for a
 * steel tape, or where no instrument is named; a distance with a rise or an angle is reduced to level.
 *
 * @returns null for a checkpoint, which has no value.
 */
export function correctReading(reading: TapeReading): CorrectedReading | null {
  if (reading.value === null) return null;
  const { conditions = {}, device, kind, value } = reading;
  if (kind === 'pitch') return { value, corrections: [], parts: [], isLevel: false };
  const sum = new Corrections(value);
  if (!device || aboutDevice(device).isSteel) steelCorrections(sum, conditions, kind === 'distance');
  const isLevel = kind === 'distance' && (conditions.held === 'level' || conditions.riseM !== undefined || conditions.angleDeg !== undefined);
  if (isLevel && conditions.held !== 'level') slopeCorrection(sum, conditions);
  return { value: sum.value, corrections: sum.made, parts: sum.parts, isLevel };
}

/** Gathers corrections; each is worked out from the length as read, as handbooks do. */
class Corrections {
  readonly made: TapeCorrection[] = [];
  readonly parts: UncertaintyPart[] = [];

  constructor(readonly read: number) {}

  get value(): number {
    return this.made.reduce((sum, { amountM }) => sum + amountM, this.read);
  }

  add(name: TapeCorrection['name'], amountM: number, formula: string, u95: number): void {
    this.made.push({ name, amountM, formula, source: HANDBOOK });
    this.parts.push({ name: `${name} of the tape`, u95 });
  }
}

function steelCorrections(sum: Corrections, conditions: TapeConditions, isDistance: boolean): void {
  const { temperatureC, tensionN, spanM, massKgPerM, sectionMm2, standardTemperatureC = STANDARD_TEMPERATURE_C, standardTensionN = STANDARD_TENSION_N } = conditions;
  const length = sum.read;
  if (temperatureC !== undefined) {
    const amount = temperatureCorrection(length, temperatureC, standardTemperatureC);
    sum.add('temperature', amount, `c L (T − T0) = 11.6e-6 × ${metres(length)} × (${temperatureC} − ${standardTemperatureC})`, Math.abs(STEEL_EXPANSION * length * TEMPERATURE_U95_C));
  }
  if (tensionN !== undefined && sectionMm2 !== undefined) {
    const amount = pullCorrection(length, tensionN, standardTensionN, sectionMm2 * 1e-6);
    const doubt = Math.abs((TENSION_U95_SHARE * tensionN * length) / (sectionMm2 * 1e-6 * STEEL_MODULUS));
    sum.add('pull', amount, `(P − P0) L / (A E) = (${tensionN} − ${standardTensionN}) × ${metres(length)} / (${sectionMm2}e-6 × 200e9)`, doubt);
  }
  if (isDistance && tensionN !== undefined && spanM !== undefined && massKgPerM !== undefined) {
    const weight = massKgPerM * STANDARD_GRAVITY;
    const amount = sagCorrection(length, spanM, weight, tensionN);
    // d(1 / P²) = 2 dP / P for each share of P.
    sum.add('sag', amount, `−w² l³ / (24 P²) for each span l, w = ${weight.toFixed(3)} N/m, l = ${metres(Math.min(spanM, length))} m, P = ${tensionN} N`, Math.abs(2 * TENSION_U95_SHARE * amount));
  }
}

function slopeCorrection(sum: Corrections, { riseM, angleDeg }: TapeConditions): void {
  const length = sum.value;
  if (riseM !== undefined) {
    const level = Math.sqrt(length * length - riseM * riseM);
    sum.add('slope', slopeCorrectionByRise(length, riseM), `square root of (L² − h²), less L, h = ${metres(Math.abs(riseM))} m`, (Math.abs(riseM) / level) * RISE_U95_M);
  } else if (angleDeg !== undefined) {
    const doubt = length * Math.abs(sin((angleDeg * Math.PI) / 180)) * ((ANGLE_U95_DEG * Math.PI) / 180);
    sum.add('slope', slopeCorrectionByAngle(length, angleDeg), `L (cos a − 1), a = ${angleDeg}°`, doubt);
  }
}

const metres = (value: number): string => value.toFixed(3);
