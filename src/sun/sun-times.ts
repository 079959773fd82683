import { sunPosition } from './sun-position.ts';

/** Instants in milliseconds since 1970 UTC; null when the sun does not cross. */
export interface SunTimes {
  readonly rise: number | null;
  /** Highest stand. */
  readonly transit: number;
  readonly set: number | null;
}

/**
 * Centre of the sun when its upper rim shows on a level horizon: half its width (16 minutes of arc) and the usual
 * refraction (34), the convention of almanacs, counted from the Earth's centre; parallax lowers it by 8.8 seconds. [rad]
 */
const RISE_ALTITUDE = ((-0.8333 - 8.794 / 3600) * Math.PI) / 180;
const MINUTE = 60_000;
const DAY = 86_400_000;

/**
 * Sunrise, transit and sunset around solar noon of a date, by halving: within a second where the sun crosses steeply.
 *
 * @param date  Any instant of the UTC date whose solar noon is meant (the noon nearest to 12:00 local mean time). [ms]
 * @param latitude  [rad]
 * @param longitude  [rad]
 */
export function sunTimes(date: number, latitude: number, longitude: number): SunTimes {
  const midnight = Math.floor(date / DAY) * DAY;
  const meanNoon = midnight + DAY / 2 - (longitude / (2 * Math.PI)) * DAY;
  let transit = meanNoon;
  // The equation of time changes by half a minute a day; two rounds settle it below a millisecond.
  for (let round = 0; round < 2; round++) transit = meanNoon - sunPosition(transit, latitude, longitude).equationOfTime * MINUTE;
  const above = (instant: number): boolean => sunPosition(instant, latitude, longitude).altitude > RISE_ALTITUDE;
  const crosses = above(transit);
  return {
    transit,
    rise: crosses && !above(transit - DAY / 2) ? crossing(transit - DAY / 2, transit, above) : null,
    set: crosses && !above(transit + DAY / 2) ? crossing(transit + DAY / 2, transit, above) : null,
  };
}

/** Instant between a dark and a light one at which light begins. */
function crossing(dark: number, light: number, above: (instant: number) => boolean): number {
  let [low, high] = [dark, light];
  while (Math.abs(high - low) > 50) {
    const middle = (low + high) / 2;
    if (above(middle)) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}

/**
 * Instant at which apparent solar time reads a given hour on a UTC date. [ms]
 *
 * @param hour  Solar time: 12 is the transit. [h]
 */
export function instantOfSolarTime(date: number, hour: number, latitude: number, longitude: number): number {
  return sunTimes(date, latitude, longitude).transit + (hour - 12) * 60 * MINUTE;
}
