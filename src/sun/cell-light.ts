import { AZIMUTHS, type Solid } from './horizon.ts';
import { solarAccess, type ShadeCells } from './solar-access.ts';
import { sunYear, type SunYearOptions } from './sun-year.ts';
import type { SurfaceModel } from './surface-model.ts';
import { atan } from '../geometry/same-math.ts';

/** Azimuths a kept horizon has: one degree each, from north clockwise. */
export const KEPT_AZIMUTHS = 360;
const STRIDE = AZIMUTHS / KEPT_AZIMUTHS;
/** Largest kept number, for an altitude of 90 degrees. */
const MOST = 65_535;

/** Cells whose light is asked for, with everything it depends on: plain data that crosses threads. */
export interface CellLightWork {
  readonly solids: readonly Solid[];
  readonly surface: SurfaceModel | null;
  readonly cells: ShadeCells;
  readonly year: SunYearOptions;
  /** Share of light the ground throws back. */
  readonly albedo: number;
}

export interface CellLight {
  /** Irradiation of each cell, `n × 12`, January to December. [kWh/m²] */
  readonly monthlyKwhM2: Float32Array;
  /** The same without shade, one row of 12 per orientation. [kWh/m²] */
  readonly unshadedMonthlyKwhM2: readonly Float64Array[];
  /** Horizon of each cell, `n × KEPT_AZIMUTHS`: altitude in parts of 90 degrees, 0 to 65 535. For any day, at once. */
  readonly horizons: Uint16Array;
}

/** Light on cells through a year, and the horizon each of them sees. */
export function lightOnCells({ solids, surface, cells, year, albedo }: CellLightWork, onProgress?: (fraction: number) => void): CellLight {
  const count = cells.orientation.length;
  const horizons = new Uint16Array(count * KEPT_AZIMUTHS);
  const access = solarAccess({ solids, surface }, cells, sunYear(year), {
    albedo, ...(onProgress ? { onProgress } : {}),
    onHorizon: (cell, horizon) => keepHorizon(horizon, horizons, cell * KEPT_AZIMUTHS),
  });
  return { monthlyKwhM2: Float32Array.from(access.monthlyKwhM2), unshadedMonthlyKwhM2: access.unshadedMonthlyKwhM2, horizons };
}

/** The middle of each degree: what stands there for more than half of it. */
function keepHorizon(horizon: Float32Array, kept: Uint16Array, at: number): void {
  for (let a = 0; a < KEPT_AZIMUTHS; a++) {
    const tangent = horizon[a * STRIDE + STRIDE / 2]!;
    if (tangent > 0) kept[at + a] = Math.round(altitudeNumber(tangent));
  }
}

/** Altitude as a kept number. @param tangent  Of the altitude, 0 or more. */
export const altitudeNumber = (tangent: number): number => (atan(tangent) / (Math.PI / 2)) * MOST;
