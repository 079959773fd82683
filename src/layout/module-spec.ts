import { InputError } from '../units/input-error.ts';

/** The module to be placed. Sizes are of one module, frame included. */
export interface ModuleSpec {
  /** Shorter side. [m] */
  readonly widthM: number;
  /** Longer side. [m] */
  readonly heightM: number;
  readonly ratedPowerW: number;
  /** Which way up it may stand: longer side up the slope, level, or either. */
  readonly turn: 'upright' | 'lying' | 'either';
  /** Least distance between neighbours. [m] */
  readonly gapM: number;
}

/**
 * A common size and power of framed modules for roofs in 2024 (common practice, no source). Gap 20 mm: the width of a
 * clamp (common practice, no source).
 */
export const USUAL_MODULE: ModuleSpec = { widthM: 1.134, heightM: 1.722, ratedPowerW: 435, turn: 'either', gapM: 0.02 };

/** Power per area of the usual module; stands in when a size is given without a power. [W/m²] */
export const USUAL_POWER_DENSITY = USUAL_MODULE.ratedPowerW / (USUAL_MODULE.widthM * USUAL_MODULE.heightM);

/** Rated power per area of a module. [W/m²] */
export const powerDensity = ({ widthM, heightM, ratedPowerW }: Pick<ModuleSpec, 'widthM' | 'heightM' | 'ratedPowerW'>): number =>
  ratedPowerW / (widthM * heightM);

/** How modules stand on planes that are nearly level. */
export interface RackSpec {
  readonly kind: 'one-way' | 'east-west';
  /** [deg] */
  readonly tiltDeg: number;
  /** Bearing the modules face (one-way), or the first half of each pair; null: the building's own direction nearest the equator, or nearest east. */
  readonly facingDeg: number | null;
  /** Clear distance in plan between rows. [m] */
  readonly rowGapM: number;
  /** Height of the low edge above the roof. [m] */
  readonly standoffM: number;
}

/** Planes up to this pitch count as level: racks are offered on them. [deg] */
export const LEVEL_PITCH_DEG = 5;

/** @throws InputError that names the field. */
export function checkModule(spec: ModuleSpec): ModuleSpec {
  const sides = [spec.widthM, spec.heightM];
  if (sides.some((side) => !(side >= 0.1 && side <= 5))) {
    throw new InputError('module', `size is ${spec.widthM} x ${spec.heightM} m, expected sides from 0.1 to 5 m.`);
  }
  if (!(spec.ratedPowerW > 0 && spec.ratedPowerW < 5000)) {
    throw new InputError('power-w', `is ${spec.ratedPowerW}, expected watts of one module, above 0 and below 5000.`);
  }
  if (!(spec.gapM >= 0 && spec.gapM <= 1)) throw new InputError('module-gap-m', `is ${spec.gapM}, expected 0 to 1 m.`);
  return { ...spec, widthM: Math.min(...sides), heightM: Math.max(...sides) };
}
