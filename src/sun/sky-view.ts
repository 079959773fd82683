import type { Vector3 } from '../geometry/vector.ts';
import { AZIMUTHS } from './horizon.ts';
import { atan, cos, sin } from '../geometry/same-math.ts';

/** Azimuths the sky is summed over. */
const SECTORS = 360;
const STRIDE = AZIMUTHS / SECTORS;

const sectorSines = Float64Array.from({ length: SECTORS }, (_, i) => sin((((i + 0.5) * 2) / SECTORS) * Math.PI));
const sectorCosines = Float64Array.from({ length: SECTORS }, (_, i) => cos((((i + 0.5) * 2) / SECTORS) * Math.PI));

/**
 * Makes a function that gives the share of an evenly bright sky that reaches a tilted surface over a horizon, weighed with
 * the cosine of incidence; over a free horizon (1 + cos tilt) / 2. Each sector of azimuth is integrated in closed form from the higher of the horizon
 * and the surface's own plane up to the zenith: integral of (n_up sin h + n_level cos h) cos h dh. [-]
 *
 * @param normal  Unit, upward, grid frame.
 * @returns of a horizon, tangents of altitude, `AZIMUTHS` of them
 */
export function skyViewOf([nx, ny, nz]: Vector3): (horizon: Float32Array) => number {
  const towards = Float64Array.from(sectorSines, (sine, i) => nx * sine + ny * sectorCosines[i]!);
  // Where the surface's own plane stands above the level.
  const own = towards.map((level) => (level < 0 && nz > 0 ? -level / nz : 0));
  const free = own.map((tangent, i) => sectorLight(tangent, towards[i]!, nz));
  return (horizon) => {
    let sum = 0;
    for (let i = 0; i < SECTORS; i++) {
      const tangent = sectorHorizon(horizon, i * STRIDE);
      sum += tangent > own[i]! ? sectorLight(tangent, towards[i]!, nz) : free[i]!;
    }
    return sum * (2 / SECTORS);
  };
}

/** Light of a sector above a tangent of altitude. */
function sectorLight(tangent: number, towards: number, up: number): number {
  const altitude = atan(tangent);
  // cos², and half the sine of twice the altitude, without further trigonometry.
  const cosineSquared = tangent === Infinity ? 0 : 1 / (1 + tangent * tangent);
  const halfDouble = tangent === Infinity ? 0 : tangent * cosineSquared;
  return (up * cosineSquared) / 2 + (towards * (Math.PI / 2 - altitude - halfDouble)) / 2;
}

/** Mean altitude of a sector's azimuths, as a tangent: narrow things count for their part. */
function sectorHorizon(horizon: Float32Array, from: number): number {
  const first = horizon[from]!;
  const last = horizon[from + STRIDE - 1]!;
  if (first === last) return first;
  let sum = 0;
  for (let k = 0; k < STRIDE; k++) {
    const tangent = horizon[from + k]!;
    sum += tangent === Infinity ? 1 : tangent / Math.sqrt(1 + tangent * tangent);
  }
  const sine = Math.min(1, sum / STRIDE);
  return sine >= 1 ? Infinity : sine / Math.sqrt(1 - sine * sine);
}
