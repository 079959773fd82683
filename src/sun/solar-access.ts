import type { Vector3 } from '../geometry/vector.ts';
import { AZIMUTHS, horizonFinder, type ShadeScene } from './horizon.ts';
import { skyViewOf } from './sky-view.ts';
import type { SunYear } from './sun-year.ts';
import type { PlanBox } from './surface-model.ts';

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

/** Light on one orientation, sun moments by azimuth. */
interface OrientationLight {
  /** What comes from where the sun stands: beam, and the part of diffuse about the sun (Hay & Davies). [kWh/m²] */
  readonly fromSun: Float64Array;
  readonly month: Uint8Array;
  readonly tangent: Float32Array;
  /** Moments of azimuth number `a` stand at `starts[a]` to `starts[a + 1]`. */
  readonly starts: Int32Array;
  /** Lowest tangent among them; infinite where the sun never stands. */
  readonly lowest: Float32Array;
  /** Sum of `fromSun`, per month. [kWh/m²] */
  readonly free: Float64Array;
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
  /** Sees the horizon of each cell: tangents, `AZIMUTHS` of them, used again for the next cell. */
  readonly onHorizon?: (cell: number, horizon: Float32Array) => void;
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
  const skyViews = cells.orientations.map(skyViewOf);
  const monthlyKwhM2 = new Float64Array(count * 12);
  const yearly = new Float64Array(count);
  const horizon = new Float32Array(AZIMUTHS);
  const { find, inclineFor } = horizonFinder(scene, sunlessDegrees(year));
  const inclines = cells.orientations.map((normal, i) => inclineFor(normal, boxAbout(cells, i)));
  for (let cell = 0; cell < count; cell++) {
    if (cell % 256 === 0) {
      if (options.shouldStop?.()) throw new Error('stopped');
      options.onProgress?.(cell / count);
    }
    const own = light[cells.orientation[cell]!]!;
    find(cells.positions[cell * 3]!, cells.positions[cell * 3 + 1]!, cells.positions[cell * 3 + 2]!, horizon, inclines[cells.orientation[cell]!]!);
    options.onHorizon?.(cell, horizon);
    const seen = skyViews[cells.orientation[cell]!]!(horizon);
    yearly[cell] = addLight(own, horizon, seen, monthlyKwhM2.subarray(cell * 12, cell * 12 + 12));
  }
  options.onProgress?.(1);
  return { monthlyKwhM2, unshadedMonthlyKwhM2: light.map((one) => one.unshaded), yearly };
}

/** Box about the cells of an orientation. */
function boxAbout({ positions, orientation }: ShadeCells, wanted: number): PlanBox {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < orientation.length; i++) {
    if (orientation[i] !== wanted) continue;
    x0 = Math.min(x0, positions[i * 3]!);
    y0 = Math.min(y0, positions[i * 3 + 1]!);
    x1 = Math.max(x1, positions[i * 3]!);
    y1 = Math.max(y1, positions[i * 3 + 1]!);
  }
  return [x0, y0, x1, y1];
}

/**
 * Sums a cell's months, by taking from a free horizon what each azimuth's horizon hides: most azimuths hide nothing and
 * cost one comparison. Returns shaded over unshaded of the year.
 */
function addLight(own: OrientationLight, horizon: Float32Array, seen: number, months: Float64Array): number {
  const { fromSun, month, tangent, starts, lowest } = own;
  for (let m = 0; m < 12; m++) months[m] = own.free[m]!;
  for (let a = 0; a < AZIMUTHS; a++) {
    const hidden = horizon[a]!;
    if (hidden < lowest[a]!) continue;
    for (let i = starts[a]!; i < starts[a + 1]!; i++) {
      if (tangent[i]! <= hidden) months[month[i]!]! -= fromSun[i]!;
    }
  }
  let sum = 0;
  let unshaded = 0;
  for (let m = 0; m < 12; m++) {
    months[m] = Math.max(0, months[m]!) + own.sky[m]! * seen + own.ground[m]!;
    sum += months[m]!;
    unshaded += own.unshaded[m]!;
  }
  // The sky sum over a free horizon may differ from the closed form in the last digits.
  return unshaded > 0 ? Math.min(1, sum / unshaded) : 0;
}

/** Degrees of azimuth the sun keeps this far away from all year count as sunless: the year is a sample of days. [deg] */
const SUNLESS_MARGIN = 3;

/** One for each whole degree of grid azimuth near which the sun never stands. */
function sunlessDegrees(year: SunYear): Uint8Array {
  const sunless = new Uint8Array(360).fill(1);
  for (let i = 0; i < year.count; i++) {
    const degree = Math.floor((year.azimuth[i]! * 360) / AZIMUTHS);
    for (let off = -SUNLESS_MARGIN; off <= SUNLESS_MARGIN; off++) sunless[(degree + off + 360) % 360] = 0;
  }
  return sunless;
}

/** Irradiation of a year on a surface under a free sky. [kWh/m²] @param normal  Unit, upward, grid frame. */
export const freeYearKwhM2 = (normal: Vector3, year: SunYear, albedo: number): number =>
  lightOn(normal, year, albedo).unshaded.reduce((sum, month) => sum + month, 0);

function lightOn(normal: Vector3, year: SunYear, albedo: number): OrientationLight {
  const light = new Float64Array(year.count);
  const free = new Float64Array(12);
  const sky = new Float64Array(12);
  const ground = new Float64Array(12);
  const perAzimuth = new Int32Array(AZIMUTHS + 1);
  for (let i = 0; i < year.count; i++) {
    const up = year.direction[i * 3 + 2]!;
    const cosine = normal[0] * year.direction[i * 3]! + normal[1] * year.direction[i * 3 + 1]! + normal[2] * up;
    const m = year.month[i]!;
    const around = year.anisotropy[i]!;
    sky[m]! += (year.diffuse[i]! * (1 - around)) / 1000;
    ground[m]! += (year.global[i]! * albedo * (1 - normal[2])) / 2000;
    if (cosine <= 0) continue;
    // Below one degree of altitude the beam ratio is held, or a rising sun would outshine noon.
    light[i] = (year.beam[i]! * cosine + (year.diffuse[i]! * around * cosine) / Math.max(up, 0.01745)) / 1000;
    free[m]! += light[i]!;
    if (light[i]! > 0) perAzimuth[year.azimuth[i]! + 1]!++;
  }
  for (let a = 0; a < AZIMUTHS; a++) perAzimuth[a + 1]! += perAzimuth[a]!;
  const seen = (1 + normal[2]) / 2;
  return {
    ...byAzimuth(light, year, perAzimuth), starts: perAzimuth, free, sky, ground,
    unshaded: free.map((value, m) => value + sky[m]! * seen + ground[m]!),
  };
}

/** Moments with light, put in order of their azimuth (counting sort). */
function byAzimuth(light: Float64Array, year: SunYear, starts: Int32Array) {
  const total = starts[AZIMUTHS]!;
  const fromSun = new Float64Array(total);
  const month = new Uint8Array(total);
  const tangent = new Float32Array(total);
  const lowest = new Float32Array(AZIMUTHS).fill(Infinity);
  const next = starts.slice();
  for (let i = 0; i < year.count; i++) {
    if (light[i] === 0) continue;
    const azimuth = year.azimuth[i]!;
    const at = next[azimuth]!++;
    fromSun[at] = light[i]!;
    month[at] = year.month[i]!;
    tangent[at] = year.tangent[i]!;
    if (year.tangent[i]! < lowest[azimuth]!) lowest[azimuth] = year.tangent[i]!;
  }
  return { fromSun, month, tangent, lowest };
}
