import { AZIMUTHS, azimuthNumber, horizonFinder, type ShadeScene } from './horizon.ts';
import type { ShadeCells } from './solar-access.ts';
import { sunPosition } from './sun-position.ts';
import { sunTimes } from './sun-times.ts';
import { cos, sin, tan } from '../geometry/same-math.ts';

const MINUTE = 60_000;
const RADIAN = Math.PI / 180;

/** One direction to the sun. */
export interface SunMoment {
  readonly instant: number;
  readonly x: number;
  readonly y: number;
  readonly z: number;
  readonly azimuth: number;
  readonly tangent: number;
}

/** Where and how finely the sun is followed. */
export interface DayOptions {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly gridToTrueDeg: number;
  /** Solar time. [h] Default: the whole day. */
  readonly fromHour?: number;
  readonly toHour?: number;
  /** Default 5. */
  readonly stepMinutes?: number;
}

/** The sun through one day, moments with it up. @param date any instant of the UTC date [ms] */
export function sunMoments(date: number, options: DayOptions): SunMoment[] {
  const { latitudeDeg, longitudeDeg, gridToTrueDeg, fromHour = 0, toHour = 24, stepMinutes = 5 } = options;
  const latitude = latitudeDeg * RADIAN;
  const longitude = longitudeDeg * RADIAN;
  const { transit } = sunTimes(date, latitude, longitude);
  const moments: SunMoment[] = [];
  for (let minute = (fromHour - 12) * 60 + stepMinutes / 2; minute < (toHour - 12) * 60; minute += stepMinutes) {
    const instant = transit + minute * MINUTE;
    const sun = sunPosition(instant, latitude, longitude);
    if (sun.altitude <= 0) continue;
    const bearing = sun.azimuth - gridToTrueDeg * RADIAN;
    const level = cos(sun.altitude);
    moments.push({
      instant, x: level * sin(bearing), y: level * cos(bearing), z: sin(sun.altitude),
      azimuth: azimuthNumber(bearing), tangent: tan(sun.altitude),
    });
  }
  return moments;
}

export interface ShadeHours {
  /** Hours the sun stands in front of each cell's surface and above the level. [h] */
  readonly possible: Float64Array;
  /** Of these, hours in shade. [h] */
  readonly shaded: Float64Array;
}

/** Hours of shade over a list of moments, each standing for `stepMinutes`. */
export function shadeHours(scene: ShadeScene, cells: ShadeCells, moments: readonly SunMoment[], stepMinutes = 5): ShadeHours {
  const count = cells.orientation.length;
  const possible = new Float64Array(count);
  const shaded = new Float64Array(count);
  eachMoment(scene, cells, moments, (cell, _, dark) => {
    possible[cell]! += stepMinutes / 60;
    if (dark) shaded[cell]! += stepMinutes / 60;
  });
  return { possible, shaded };
}

/**
 * Shade of a day as pictures: one row of cells per moment, 0 lit, 1 in shade of something, 2 the sun is behind the surface.
 */
export function shadeOverDay(scene: ShadeScene, cells: ShadeCells, moments: readonly SunMoment[]): Uint8Array {
  const count = cells.orientation.length;
  const pictures = new Uint8Array(count * moments.length).fill(2);
  eachMoment(scene, cells, moments, (cell, moment, dark) => {
    pictures[moment * count + cell] = dark ? 1 : 0;
  });
  return pictures;
}

/** Visits every cell and moment with the sun in front of the cell's surface. */
function eachMoment(
  scene: ShadeScene, cells: ShadeCells, moments: readonly SunMoment[], visit: (cell: number, moment: number, dark: boolean) => void,
): void {
  const horizon = new Float32Array(AZIMUTHS);
  const { find } = horizonFinder(scene);
  for (let cell = 0; cell < cells.orientation.length; cell++) {
    find(cells.positions[cell * 3]!, cells.positions[cell * 3 + 1]!, cells.positions[cell * 3 + 2]!, horizon);
    const normal = cells.orientations[cells.orientation[cell]!]!;
    for (let i = 0; i < moments.length; i++) {
      const { x, y, z, azimuth, tangent } = moments[i]!;
      if (normal[0] * x + normal[1] * y + normal[2] * z > 0) visit(cell, i, tangent <= horizon[azimuth]!);
    }
  }
}

/** Instant of a winter solstice day (21 December north, 21 June south). @param year e.g. 2025 */
export const winterSolstice = (latitudeDeg: number, year: number): number => Date.UTC(year, latitudeDeg >= 0 ? 11 : 5, 21, 12);
