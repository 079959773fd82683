import { sunsetHourAngle } from './solar-geometry.ts';
import { cos, sin } from '../geometry/same-math.ts';

/** Solar constant (Gueymard 2018; 1367 in older handbooks). [W/m²] */
export const SOLAR_CONSTANT = 1361.1;
const DAY_SECONDS = 86_400;

/** Beam above the air at a distance from the sun. [W/m²] @param distance [astronomical units] */
export const beamAboveAir = (distance: number, solarConstant = SOLAR_CONSTANT): number => solarConstant / (distance * distance);

/** Square of mean over actual distance to the sun, by day of the year (Duffie & Beckman eq. 1.4.1a; FAO 56 eq. 23). [-] */
export const distanceFactor = (dayOfYear: number): number => 1 + 0.033 * cos((2 * Math.PI * dayOfYear) / 365);

/** Declination by day of the year, for handbook averages only (Cooper 1969; Duffie & Beckman eq. 1.6.1a). [rad] */
export const cooperDeclination = (dayOfYear: number): number =>
  ((23.45 * Math.PI) / 180) * sin((2 * Math.PI * (284 + dayOfYear)) / 365);

/** The day whose declination stands for its month, January to December (Klein 1977; Duffie & Beckman table 1.6.1). */
export const AVERAGE_DAYS: readonly number[] = [17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344];

/**
 * Irradiation of the level above the air over a day (Duffie & Beckman eq. 1.10.3; FAO 56 eq. 21). [J/m²]
 *
 * @param latitude  [rad]
 * @param declination  [rad] Default: Cooper's.
 */
export function dailyAboveAir(
  dayOfYear: number, latitude: number, solarConstant = SOLAR_CONSTANT, declination = cooperDeclination(dayOfYear),
): number {
  const sunset = sunsetHourAngle(latitude, declination);
  return (DAY_SECONDS / Math.PI) * solarConstant * distanceFactor(dayOfYear)
    * (cos(latitude) * cos(declination) * sin(sunset) + sunset * sin(latitude) * sin(declination));
}

/** The same between two hour angles (Duffie & Beckman eq. 1.10.4). [J/m²] */
export function aboveAirBetween(
  dayOfYear: number, latitude: number, from: number, to: number, solarConstant = SOLAR_CONSTANT, declination = cooperDeclination(dayOfYear),
): number {
  return ((DAY_SECONDS / 2) / Math.PI) * solarConstant * distanceFactor(dayOfYear)
    * (cos(latitude) * cos(declination) * (sin(to) - sin(from)) + (to - from) * sin(latitude) * sin(declination));
}
