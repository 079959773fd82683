import { measured, missing, type Measured } from '../units/measured.ts';
import type { SunYear } from '../sun/sun-year.ts';
import type { FitOptions } from './fit-options.ts';
import type { ModuleLight } from './module-light.ts';

/**
 * Yield of a real year over that of a year of clear sky, and its 95 % half width: between the cloudiest inhabited
 * climates (about 0.42) and deserts (about 0.98). From memory; stands in only while no irradiation values are given.
 */
const REAL_OVER_CLEAR = { middle: 0.7, u95: 0.28 };
/** Long-term irradiation values of the level against the next twenty years, 95 % (common practice, no source). */
const MONTHLY_VALUES_U95 = 0.06;
/** Sky model and transposition onto the plane, 95 % (common practice, no source). */
const SKY_U95 = 0.05;
/** Performance ratio, 95 % (common practice, no source). */
const PERFORMANCE_U95 = 0.08;
/** Of the share lost to shade this much may be wrong: heights, trees in leaf, module wiring (common practice, no source). */
const SHADE_U95 = 0.3;

/** Yearly energy of modules, before its uncertainty is stated. [kWh] */
export const rawEnergyKwh = (light: readonly ModuleLight[], options: FitOptions): number =>
  light.reduce((sum, one) => sum + one.yearlyKwhM2, 0) * (options.module.ratedPowerW / 1000) * options.performanceRatio;

/**
 * Yearly energy with ±: rated power × irradiation on the module over 1 kW/m² × performance ratio. Without monthly
 * irradiation values only a clear sky is known, and the value is a middle between cloudy and clear climates with a
 * wide ±.
 */
export function energyOf(light: readonly ModuleLight[] | null, year: SunYear | null, options: FitOptions, why: string): Measured {
  if (!light || !year) return missing(why);
  const raw = rawEnergyKwh(light, options);
  const value = year.sky === 'clear' ? raw * REAL_OVER_CLEAR.middle : raw;
  const lost = light.length === 0 ? 0 : 1 - light.reduce((sum, one) => sum + one.solarAccess, 0) / light.length;
  return measured(value, [
    year.sky === 'clear' ? { name: 'clouds, no irradiation values given', u95: raw * REAL_OVER_CLEAR.u95 } : { name: 'irradiation values', u95: value * MONTHLY_VALUES_U95 },
    { name: 'sky model', u95: value * SKY_U95 },
    { name: 'performance ratio', u95: value * PERFORMANCE_U95 },
    { name: 'shade', u95: value * lost * SHADE_U95 },
  ]);
}

/** What the energy rests on, one sentence each. */
export function energyAssumptions(year: SunYear | null, options: FitOptions, clearKwh: number | null, hasSurface: boolean, why: string): string[] {
  if (!year) return [`Energy not computed: ${why}.`];
  const level = year.monthlyKwhM2.reduce((sum, one) => sum + one, 0);
  return [
    year.sky === 'clear'
      ? `Irradiation: no values given. A clear sky all year (Ineichen & Perez 2002, Linke turbidity ${options.linkeTurbidity.join(', ')}) would bring ${Math.round(level)} kWh/m² on the level${clearKwh === null ? '' : ` and ${Math.round(clearKwh)} kWh`}; real years bring 0.42 to 0.98 of that, so the energy is a middle with a wide ±. Give monthly values to narrow it.`
      : `Irradiation: monthly values given, ${Math.round(level)} kWh/m² a year on the level; diffuse share after Erbs and others (1982).`,
    'Tilted planes: Hay & Davies (1980); shade of the beam by the sun\'s path every 5 minutes on every fifth day, of the sky by the horizon.',
    hasSurface
      ? 'Shade: obstructions and parapets of the record as solids, everything else from the measured cloud.'
      : 'Shade: from the record alone (roof planes, obstructions, parapets); trees and buildings outside it throw none.',
    `Performance ratio ${options.performanceRatio}, albedo ${options.albedo}, no loss of power with age, no loss by wiring of shaded modules beyond their own light.`,
  ];
}
