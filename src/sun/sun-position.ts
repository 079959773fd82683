import { asin, atan2, cos, sin, tan } from '../geometry/same-math.ts';
/** Where the sun stands, seen from a place. */
export interface SunPosition {
  /** Clockwise from true north, 0 <= value < 2 pi. [rad] */
  readonly azimuth: number;
  /** Above the level, without refraction. [rad] */
  readonly altitude: number;
  /** Distance from the Earth. [astronomical units] */
  readonly distance: number;
  /** North positive. [rad] */
  readonly declination: number;
  /** Apparent less mean solar time. [minutes] */
  readonly equationOfTime: number;
}

const DEGREE = Math.PI / 180;
const wrapped = (angle: number, turn: number): number => ((angle % turn) + turn) % turn;

/**
 * Julian day of an instant. [days]
 *
 * @param instant  Milliseconds since 1970-01-01 00:00 UTC, as `Date.UTC` counts.
 */
export const julianDay = (instant: number): number => instant / 86_400_000 + 2_440_587.5;

/**
 * Position of the sun: apparent place after Meeus (1998, Astronomical Algorithms, 2nd ed., chapter 25, low accuracy, with
 * the larger planetary terms of his 1st ed. chapter 18), nutation and aberration included, parallax applied. Within
 * 0.004 degrees of the NREL algorithm (Reda & Andreas 2004) in our century; see tests/reference/sun.
 *
 * @param instant  Milliseconds since 1970-01-01 00:00 UTC.
 * @param latitude  North positive. [rad]
 * @param longitude  East positive. [rad]
 * @param deltaT  Dynamical less universal time. [s] Default: 69, its value around 2020; a minute moves the sun 0.0007 degrees.
 */
export function sunPosition(instant: number, latitude: number, longitude: number, deltaT = 69): SunPosition {
  const day = julianDay(instant);
  const t = (day + deltaT / 86_400 - 2_451_545) / 36_525;
  const { longitude: lambda, distance, omega } = apparentSun(t);
  // Obliquity, Meeus eq. 22.2, corrected as in eq. 25.8.
  const obliquity = (23.439_291_11 - 0.013_004_17 * t - 1.64e-7 * t * t + 0.002_56 * cos(omega)) * DEGREE;
  const ascension = atan2(cos(obliquity) * sin(lambda), cos(lambda));
  const declination = asin(sin(obliquity) * sin(lambda));
  // Sidereal time at Greenwich, Meeus eq. 12.4, made apparent with the nutation in longitude.
  const days = day - 2_451_545;
  const centuries = days / 36_525;
  const nutation = -0.004_78 * sin(omega) * DEGREE;
  const sidereal = (280.460_618_37 + 360.985_647_366_29 * days + 0.000_387_933 * centuries * centuries) * DEGREE + nutation * cos(obliquity);
  const hourAngle = sidereal + longitude - ascension;
  const { azimuth, altitude } = horizontal(hourAngle, declination, latitude);
  return {
    azimuth,
    // Parallax lowers the sun: 8.794 arc seconds at the horizon (Meeus eq. 40.1).
    altitude: altitude - ((8.794 / 3600) * DEGREE * cos(altitude)) / distance,
    distance, declination,
    equationOfTime: equationOfTime(day, sidereal, ascension),
  };
}

/** Direction of the sun from its hour angle (west positive) and declination (Duffie & Beckman eq. 1.6.5, 1.6.6). [rad] */
export function horizontal(hourAngle: number, declination: number, latitude: number): { azimuth: number; altitude: number } {
  const north = cos(latitude) * sin(declination) - sin(latitude) * cos(declination) * cos(hourAngle);
  const east = -cos(declination) * sin(hourAngle);
  const up = sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(hourAngle);
  return { azimuth: wrapped(atan2(east, north), 2 * Math.PI), altitude: atan2(up, Math.hypot(north, east)) };
}

/** Apparent longitude [rad] and distance [astronomical units] of the sun; `t` in Julian centuries of dynamical time since 2000. */
function apparentSun(t: number): { longitude: number; distance: number; omega: number } {
  const meanLongitude = 280.466_46 + 36_000.769_83 * t + 0.000_303_2 * t * t;
  const anomaly = (357.529_11 + 35_999.050_29 * t - 0.000_153_7 * t * t) * DEGREE;
  const eccentricity = 0.016_708_634 - 0.000_042_037 * t - 1.267e-7 * t * t;
  const centre = (1.914_602 - 0.004_817 * t - 0.000_014 * t * t) * sin(anomaly)
    + (0.019_993 - 0.000_101 * t) * sin(2 * anomaly) + 0.000_289 * sin(3 * anomaly);
  const distance = (1.000_001_018 * (1 - eccentricity * eccentricity)) / (1 + eccentricity * cos(anomaly + centre * DEGREE));
  const omega = (125.04 - 1934.136 * t) * DEGREE;
  const longitude = meanLongitude + centre + planetaryPull(t) - 0.005_69 - 0.004_78 * sin(omega);
  return { longitude: longitude * DEGREE, distance, omega };
}

/** Pull of Venus, Jupiter and the Moon on the Earth, and a long-period term (Meeus 1st ed., chapter 18; time counted from 1900). [deg] */
function planetaryPull(t: number): number {
  const from1900 = t + 1;
  return 0.001_34 * cos((153.23 + 22_518.754_1 * from1900) * DEGREE)
    + 0.001_54 * cos((216.57 + 45_037.508_2 * from1900) * DEGREE)
    + 0.002 * cos((312.69 + 32_964.357_7 * from1900) * DEGREE)
    + 0.001_79 * sin((350.74 + 445_267.114_2 * from1900 - 0.001_44 * from1900 * from1900) * DEGREE)
    + 0.001_78 * sin((231.19 + 20.2 * from1900) * DEGREE);
}

/** Apparent solar time runs on the true sun's hour angle, universal time on the mean sun's. [minutes] */
function equationOfTime(day: number, sidereal: number, ascension: number): number {
  const sinceMidnight = (day + 0.5 - Math.floor(day + 0.5)) * 1440;
  const apparent = ((sidereal - ascension) / DEGREE) * 4 + 720;
  return wrapped(apparent - sinceMidnight + 720, 1440) - 720;
}

/**
 * Lift of the sun by the air (Bennett 1982 in the form of Meeus eq. 16.4, as used by Reda & Andreas 2004 eq. 42). [rad]
 *
 * @param altitude  Without refraction. [rad] Below -0.9 degrees none is given: the sun is down.
 * @param pressure  [hPa]
 * @param temperature  [°C]
 */
export function refraction(altitude: number, pressure = 1010, temperature = 10): number {
  const degrees = altitude / DEGREE;
  if (degrees < -0.9) return 0;
  const lift = 1.02 / (60 * tan((degrees + 10.3 / (degrees + 5.11)) * DEGREE));
  return (pressure / 1010) * (283 / (273 + temperature)) * lift * DEGREE;
}
