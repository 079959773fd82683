import { airMass, ineichen, pressureRatio } from './clear-sky.ts';
import { AVERAGE_DAYS, beamAboveAir, cooperDeclination, dailyAboveAir } from './extraterrestrial.ts';
import { azimuthNumber } from './horizon.ts';
import { sunsetHourAngle } from './solar-geometry.ts';
import { refraction, sunPosition } from './sun-position.ts';
import { cos, pow, sin, tan } from '../geometry/same-math.ts';

/** Where and under what sky. */
export interface SunYearOptions {
  /** [deg] */
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  /** Linke turbidity, January to December. */
  readonly linkeTurbidity: readonly number[];
  /** Irradiation of the level in an average year, January to December; null: clear sky. [kWh/m²] */
  readonly monthlyKwhM2: readonly number[] | null;
  /** Of the site above the sea. [m] */
  readonly elevationM: number;
  readonly gridToTrueDeg: number;
  /** Default 5. */
  readonly stepMinutes?: number;
  /** Every which day is looked at. Default 5: the sun's path moves by 2 degrees at most between. */
  readonly dayStep?: number;
}

/** A year's sun: one entry per looked-at moment with the sun up. */
export interface SunYear {
  readonly count: number;
  readonly month: Uint8Array;
  /** Direction to the sun in the local frame (grid north), `n × 3`. */
  readonly direction: Float64Array;
  /** Azimuth number of the grid bearing. */
  readonly azimuth: Uint16Array;
  readonly tangent: Float32Array;
  /** Irradiation square to the sun that the moment stands for. [Wh/m²] */
  readonly beam: Float64Array;
  /** Diffuse and global irradiation of the level. [Wh/m²] */
  readonly diffuse: Float64Array;
  readonly global: Float64Array;
  /** Beam over beam above the air (Hay & Davies 1980). [-] */
  readonly anisotropy: Float64Array;
  /** Of the level, January to December. [kWh/m²] */
  readonly monthlyKwhM2: readonly number[];
  readonly sky: 'clear' | 'monthly values';
}

const MINUTE = 60_000;
const DAY = 86_400_000;
const RADIAN = Math.PI / 180;
const DAYS_IN_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/** A year that is not a leap year, near the middle of a leap cycle. */
const YEAR_START = Date.UTC(2025, 0, 1);

/**
 * The sun's path and light through a year. Clear sky after Ineichen & Perez. With monthly values of the level, beam and
 * diffuse of each month are scaled so that their sum meets the value and their shares follow the monthly correlation of
 * Erbs, Klein & Duffie (1982; Duffie & Beckman eq. 2.12.1).
 */
export function sunYear(options: SunYearOptions): SunYear {
  const { latitudeDeg, longitudeDeg, stepMinutes = 5, dayStep = 5 } = options;
  const latitude = latitudeDeg * RADIAN;
  const longitude = longitudeDeg * RADIAN;
  const rows: number[][] = [];
  const looked = Array.from({ length: 12 }, () => 0);
  for (let day = Math.floor(dayStep / 2); day < 365; day += dayStep) {
    const noon = YEAR_START + day * DAY + DAY / 2 - (longitude / (2 * Math.PI)) * DAY;
    const month = new Date(YEAR_START + day * DAY).getUTCMonth();
    looked[month]!++;
    for (let minute = -720 + stepMinutes / 2; minute < 720; minute += stepMinutes) {
      const moment = momentOf(noon + minute * MINUTE, latitude, longitude, month, options);
      if (moment) rows.push(moment);
    }
  }
  return scaled(fill(rows, looked, stepMinutes), options);
}

function momentOf(instant: number, latitude: number, longitude: number, month: number, options: SunYearOptions): number[] | null {
  const sun = sunPosition(instant, latitude, longitude);
  if (sun.altitude <= 0) return null;
  const above = beamAboveAir(sun.distance);
  const seen = sun.altitude + refraction(sun.altitude);
  const light = ineichen(seen, airMass(seen) * pressureRatio(options.elevationM), options.linkeTurbidity[month]!, options.elevationM, above);
  const bearing = sun.azimuth - options.gridToTrueDeg * RADIAN;
  const level = cos(sun.altitude);
  return [
    month, level * sin(bearing), level * cos(bearing), sin(sun.altitude), azimuthNumber(bearing),
    tan(sun.altitude), light.beam, light.diffuse, light.global, light.beam / above,
  ];
}

function fill(rows: readonly number[][], looked: readonly number[], stepMinutes: number) {
  const count = rows.length;
  const column = (at: number): Float64Array => Float64Array.from(rows, (row) => row[at]!);
  // Each looked-at day stands for its share of the month.
  const hours = Float64Array.from(rows, (row) => (DAYS_IN_MONTH[row[0]!]! / looked[row[0]!]!) * (stepMinutes / 60));
  const weighed = (at: number): Float64Array => Float64Array.from(rows, (row, i) => row[at]! * hours[i]!);
  const direction = new Float64Array(count * 3);
  rows.forEach((row, i) => direction.set([row[1]!, row[2]!, row[3]!], i * 3));
  return {
    count, direction, month: Uint8Array.from(column(0)), azimuth: Uint16Array.from(column(4)), tangent: Float32Array.from(column(5)),
    beam: weighed(6), diffuse: weighed(7), global: weighed(8), anisotropy: column(9),
  };
}

function scaled(clear: ReturnType<typeof fill>, options: SunYearOptions): SunYear {
  const beamSum = Array.from({ length: 12 }, () => 0);
  const diffuseSum = Array.from({ length: 12 }, () => 0);
  for (let i = 0; i < clear.count; i++) {
    beamSum[clear.month[i]!]! += (clear.global[i]! - clear.diffuse[i]!) / 1000;
    diffuseSum[clear.month[i]!]! += clear.diffuse[i]! / 1000;
  }
  const wanted = options.monthlyKwhM2;
  if (!wanted) return { ...clear, monthlyKwhM2: beamSum.map((beam, m) => beam + diffuseSum[m]!), sky: 'clear' };
  const beamFactor: number[] = [];
  const diffuseFactor: number[] = [];
  wanted.forEach((global, m) => {
    const diffuse = global * monthlyDiffuseShare(global, m, options.latitudeDeg * RADIAN);
    beamFactor.push(beamSum[m]! > 0 ? (global - diffuse) / beamSum[m]! : 0);
    diffuseFactor.push(diffuseSum[m]! > 0 ? diffuse / diffuseSum[m]! : 0);
  });
  const beam = clear.beam.map((value, i) => value * beamFactor[clear.month[i]!]!);
  const diffuse = clear.diffuse.map((value, i) => value * diffuseFactor[clear.month[i]!]!);
  return {
    ...clear, beam, diffuse, sky: 'monthly values', monthlyKwhM2: wanted,
    global: clear.global.map((value, i) => (value - clear.diffuse[i]!) * beamFactor[clear.month[i]!]! + diffuse[i]!),
    anisotropy: clear.anisotropy.map((value, i) => Math.min(1, value * beamFactor[clear.month[i]!]!)),
  };
}

/** Share of diffuse in a month's irradiation of the level (Erbs, Klein & Duffie 1982, monthly averages). [-] */
export function monthlyDiffuseShare(globalKwhM2: number, month: number, latitude: number): number {
  const day = AVERAGE_DAYS[month]!;
  const above = (dailyAboveAir(day, latitude) * DAYS_IN_MONTH[month]!) / 3.6e6;
  if (!(above > 0)) return 1;
  // The correlation holds for clearness 0.3 to 0.8.
  const k = Math.min(0.8, Math.max(0.3, globalKwhM2 / above));
  const shortDay = sunsetHourAngle(latitude, cooperDeclination(day)) <= 81.4 * RADIAN;
  const share = shortDay
    ? 1.391 - 3.56 * k + 4.189 * k ** 2 - 2.137 * pow(k, 3)
    : 1.311 - 3.022 * k + 3.427 * k ** 2 - 1.821 * pow(k, 3);
  return Math.min(1, Math.max(0, share));
}
