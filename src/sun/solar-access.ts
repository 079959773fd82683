import type { Vector3 } from '../geometry/vector.ts';
import { AZIMUTHS, horizonFinder, type ShadeScene } from './horizon.ts';
import { skyViewShare } from './sky-view.ts';
import type { SunYear } from './sun-year.ts';

/** Positions whose light is asked for. */
export interface ShadeCells {
  /** x, y, z, `n × 3`, local frame. [m] */
  readonly positions: Float64Array;
  /** Which of `orientations` each lies in. */
  readonly orientation: Uint16Array;
  /** Unit upward normals. */
  readonly orientations: readonly Vector3[];
}

export interface SolarAccess {
  /** Irradiation of each cell, `n × 12`, January to December. [kWh/m²] */
  readonly monthlyKwhM2: Float64Array;
  /** The same without any shade, one row of 12 per orientation. [kWh/m²] */
  readonly unshadedMonthlyKwhM2: readonly Float64Array[];
  /** Shaded over unshaded irradiation of the year, 0 to 1, per cell. */
  readonly yearly: Float64Array;
}

/** Light on one orientation, moment by moment and month by month. */
interface OrientationLight {
  /** What comes from where the sun stands: beam, and the part of diffuse about the sun (Hay & Davies). [kWh/m²] */
  readonly fromSun: Float64Array;
  /** Evenly spread sky light on the level, per month. [kWh/m²] */
  readonly sky: Float64Array;
  /** Thrown back by the ground, per month; taken as unshaded. [kWh/m²] */
  readonly ground: Float64Array;
  readonly unshaded: Float64Array;
}

export interface AccessOptions {
  /** Share of light the ground throws back. */
  readonly albedo: number;
  readonly onProgress?: (fraction: number) => void;
  readonly shouldStop?: () => boolean;
}

/**
 * Irradiation of cells through a year with shade, and solar access (shaded over unshaded). Light is split after Hay &
 * Davies (1980): what comes from about the sun is lost while the sun stands below the cell's horizon, the rest of the sky
 * in proportion to what the horizon hides of it. The sun's disc is taken as a point.
 *
 * @throws Error 'stopped' when `shouldStop` says so.
 */
export function solarAccess(scene: ShadeScene, cells: ShadeCells, year: SunYear, options: AccessOptions): SolarAccess {
  const count = cells.orientation.length;
  const light = cells.orientations.map((normal) => lightOn(normal, year, options.albedo));
  const monthlyKwhM2 = new Float64Array(count * 12);
  const yearly = new Float64Array(count);
  const horizon = new Float32Array(AZIMUTHS);
  const find = horizonFinder(scene);
  for (let cell = 0; cell < count; cell++) {
    if (cell % 256 === 0) {
      if (options.shouldStop?.()) throw new Error('stopped');
      options.onProgress?.(cell / count);
    }
    const own = light[cells.orientation[cell]!]!;
    find(cells.positions[cell * 3]!, cells.positions[cell * 3 + 1]!, cells.positions[cell * 3 + 2]!, horizon);
    const seen = skyViewShare(cells.orientations[cells.orientation[cell]!]!, horizon);
    yearly[cell] = addLight(own, year, horizon, seen, monthlyKwhM2.subarray(cell * 12, cell * 12 + 12));
  }
  options.onProgress?.(1);
  return { monthlyKwhM2, unshadedMonthlyKwhM2: light.map((one) => one.unshaded), yearly };
}

/** Sums a cell's months; returns shaded over unshaded of the year. */
function addLight(own: OrientationLight, year: SunYear, horizon: Float32Array, seen: number, months: Float64Array): number {
  const { azimuth, tangent, month, count } = year;
  const { fromSun } = own;
  for (let i = 0; i < count; i++) {
    if (tangent[i]! > horizon[azimuth[i]!]!) months[month[i]!]! += fromSun[i]!;
  }
  let sum = 0;
  let free = 0;
  for (let m = 0; m < 12; m++) {
    months[m]! += own.sky[m]! * seen + own.ground[m]!;
    sum += months[m]!;
    free += own.unshaded[m]!;
  }
  // The sky sums of a free horizon may differ from the closed form in the last digits.
  return free > 0 ? Math.min(1, sum / free) : 0;
}

function lightOn(normal: Vector3, year: SunYear, albedo: number): OrientationLight {
  const fromSun = new Float64Array(year.count);
  const sky = new Float64Array(12);
  const ground = new Float64Array(12);
  const unshaded = new Float64Array(12);
  const seen = (1 + normal[2]) / 2;
  for (let i = 0; i < year.count; i++) {
    const up = year.direction[i * 3 + 2]!;
    const cosine = Math.max(0, normal[0] * year.direction[i * 3]! + normal[1] * year.direction[i * 3 + 1]! + normal[2] * up);
    const m = year.month[i]!;
    const around = year.anisotropy[i]!;
    // Below one degree of altitude the beam ratio is held, or a rising sun would outshine noon.
    fromSun[i] = (year.beam[i]! * cosine + (year.diffuse[i]! * around * cosine) / Math.max(up, 0.01745)) / 1000;
    sky[m]! += (year.diffuse[i]! * (1 - around)) / 1000;
    ground[m]! += (year.global[i]! * albedo * (1 - normal[2])) / 2000;
    unshaded[m]! += fromSun[i]!;
  }
  for (let m = 0; m < 12; m++) unshaded[m]! += sky[m]! * seen + ground[m]!;
  return { fromSun, sky, ground, unshaded };
}
