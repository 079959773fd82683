import { asin, atan, atan2, cos, log, sin, tan } from '../geometry/same-math.ts';
/** Sun angles in use while rows must be free of shade. */
export interface SunAngle {
  readonly altitude: number;
  readonly azimuth: number;
}

/**
 * Clear plan distance behind a row so that its shadow just ends there: height × cos(azimuth off square) / tan(altitude).
 * Without the cosine the shadow's full length results, which is more than needed. 0 when the sun stands behind. [m]
 *
 * @param height  Rise of the row's upper edge over the lower edge of the next row. [m]
 * @param facing  Bearing the rows face. [rad]
 */
export const rowGap = (height: number, { altitude, azimuth }: SunAngle, facing: number): number =>
  Math.max(0, (height * cos(azimuth - facing)) / tan(altitude));

/**
 * Declination at the winter solstice of either half of the Earth, sun on the far side. [rad]
 * 23.44 degrees: obliquity of the ecliptic around 2000 (Meeus 1998).
 */
const SOLSTICE = (23.44 * Math.PI) / 180;

/**
 * Row distance by the sun-angle rule: no shade from row to row at the winter solstice between two solar hours. Both ends
 * and noon are looked at, so rows that face sideways are served too. [m]
 *
 * @param latitude  [rad]
 * @param fromHour  Solar time. [h] Default 9, `toHour` 15 (common practice, no source).
 * @throws RangeError where the sun does not rise at one of the hours: the rule then says nothing.
 */
export function solsticeRowGap(height: number, facing: number, latitude: number, fromHour = 9, toHour = 15): number {
  const declination = latitude >= 0 ? -SOLSTICE : SOLSTICE;
  let gap = 0;
  for (let hour = fromHour; hour <= toHour + 1e-9; hour += 0.5) {
    const angle = ((hour - 12) * Math.PI) / 12;
    const up = sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(angle);
    if (!(up > 0)) throw new RangeError(`The sun is down at ${hour} h solar time on the winter solstice.`);
    const north = cos(latitude) * sin(declination) - sin(latitude) * cos(declination) * cos(angle);
    const east = -cos(declination) * sin(angle);
    gap = Math.max(gap, rowGap(height, { altitude: asin(up), azimuth: atan2(east, north) }, facing));
  }
  return gap;
}

/** One long row seen end on. */
export interface Row {
  /** Plan position of its axis. [m] */
  readonly x: number;
  /** Height of its axis. [m] */
  readonly z: number;
  /** Turn about its axis; positive turns its face towards +x. [rad] */
  readonly tilt: number;
}

/**
 * Share of a row's width shaded by a neighbour, both endless and seen end on (Zenodo 10.5281/zenodo.10513987). `opaque`
 * counts everything below the neighbour's upper edge as dark, as the published values do; in truth light passes under a
 * raised row, and ray casting through the open gap gives less shade (`opaque: false`).
 *
 * @param shaded  The row that may be shaded.
 * @param shading  The row towards the sun.
 * @param width  Of both rows. [m]
 * @param offset  Distance of the surface from the axis, along its normal. [m]
 * @param zenith  The sun's zenith angle in this section, positive towards +x. [rad]
 */
export function rowShadedShare(shaded: Row, shading: Row, width: number, offset: number, zenith: number, opaque = true): number {
  const own = edges(shaded, width, offset);
  const other = edges(shading, width, offset);
  // Position across the beam: light travels along the sun's direction, so what counts is the distance square to it.
  const across = ([x, z]: readonly [number, number]): number => z * sin(zenith) - x * cos(zenith);
  const sunward = Math.sign(sin(zenith)) || 1;
  const height = (at: readonly [number, number]): number => across(at) * sunward;
  const low = Math.min(height(own[0]), height(own[1]));
  const high = Math.max(height(own[0]), height(own[1]));
  if (high - low < 1e-12) return 0;
  const top = Math.max(height(other[0]), height(other[1]));
  const bottom = opaque ? -Infinity : Math.min(height(other[0]), height(other[1]));
  const dark = Math.min(high, top) - Math.max(low, bottom);
  return Math.min(1, Math.max(0, dark / (high - low)));
}

function edges({ x, z, tilt }: Row, width: number, offset: number): [readonly [number, number], readonly [number, number]] {
  const middleX = x + offset * sin(tilt);
  const middleZ = z + offset * cos(tilt);
  const acrossX = (width / 2) * cos(tilt);
  const acrossZ = (width / 2) * sin(tilt);
  return [[middleX - acrossX, middleZ + acrossZ], [middleX + acrossX, middleZ - acrossZ]];
}

/**
 * Angle under which the row in front hides the sky, at a height along the slope. [rad]
 *
 * @param groundCover  Module width over row pitch. [-]
 * @param share  Position up the slope, 0 low edge, 1 high edge. [-]
 */
export const maskingAngle = (tilt: number, groundCover: number, share: number): number =>
  atan2((1 - share) * sin(tilt), 1 / groundCover - (1 - share) * cos(tilt));

/** The same averaged over the slope (Passias & Källbäck 1984, Solar Cells 11, eq. as coded in public libraries). [rad] */
export function averageMaskingAngle(tilt: number, groundCover: number): number {
  const x = 1 / groundCover;
  const c = cos(tilt);
  const s = sin(tilt);
  const term1 = -x * s * log(Math.abs(2 * x * c - (x * x + 1))) / 2;
  const term2 = (x * c - 1) * atan((x * c - 1) / (x * s));
  const term3 = (1 - x * c) * atan(c / s);
  const term4 = x * log(x) * s;
  return term1 + term2 + term3 + term4;
}
