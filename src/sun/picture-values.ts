import { altitudeNumber, KEPT_AZIMUTHS, type CellLight } from './cell-light.ts';
import { AZIMUTHS } from './horizon.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { SunMoment } from './shade-hours.ts';

/** Cells of one orientation in a list of cells: from `first`, `count` of them. */
export interface CellRun {
  readonly first: number;
  readonly count: number;
  readonly normal: Vector3;
  /** Which row of the unshaded months is theirs. */
  readonly orientation: number;
}

/** Shaded over unshaded irradiation of some months, one number for each cell, 0 to 1. @param months 0 to 11 */
export function accessOf({ monthlyKwhM2, unshadedMonthlyKwhM2 }: CellLight, { first, count, orientation }: CellRun, months: readonly number[]): Float32Array {
  const free = months.reduce((sum, month) => sum + unshadedMonthlyKwhM2[orientation]![month]!, 0);
  const access = new Float32Array(count);
  for (let i = 0; i < count; i++) {
    let lit = 0;
    for (const month of months) lit += monthlyKwhM2[(first + i) * 12 + month]!;
    access[i] = free > 0 ? Math.min(1, lit / free) : 0;
  }
  return access;
}

/** State of a cell at a moment. */
export const LIT = 0;
export const SHADED = 1;
/** The sun stands behind the surface. */
export const TURNED_AWAY = 2;

/** What each cell sees of the sun at a moment: `LIT`, `SHADED` or `TURNED_AWAY`. */
export function shadeAt({ horizons }: CellLight, { first, count, normal }: CellRun, moment: SunMoment): Float32Array {
  const states = new Float32Array(count);
  if (normal[0] * moment.x + normal[1] * moment.y + normal[2] * moment.z <= 0) return states.fill(TURNED_AWAY);
  const [azimuth, altitude] = keptDirection(moment);
  for (let i = 0; i < count; i++) states[i] = altitude <= horizons[(first + i) * KEPT_AZIMUTHS + azimuth]! ? SHADED : LIT;
  return states;
}

/** Hours a cell has no sun while it is up, in shade or turned away from it, over moments that each stand for `stepMinutes`. [h] */
export function darkHoursOf({ horizons }: CellLight, { first, count, normal }: CellRun, moments: readonly SunMoment[], stepMinutes: number): Float32Array {
  const hours = new Float32Array(count);
  for (const moment of moments) {
    const isAway = normal[0] * moment.x + normal[1] * moment.y + normal[2] * moment.z <= 0;
    const [azimuth, altitude] = keptDirection(moment);
    for (let i = 0; i < count; i++) if (isAway || altitude <= horizons[(first + i) * KEPT_AZIMUTHS + azimuth]!) hours[i]! += stepMinutes / 60;
  }
  return hours;
}

const keptDirection = ({ azimuth, tangent }: SunMoment): readonly [number, number] =>
  [Math.floor((azimuth * KEPT_AZIMUTHS) / AZIMUTHS), altitudeNumber(tangent)];
