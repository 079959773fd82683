import { InputError } from '../units/input-error.ts';
import { isKnown, measured, missing, type Measured } from '../units/measured.ts';
import type { ModuleSpec } from './module-spec.ts';

/** Yearly need of households that use the same. [kWh] @throws InputError */
export function householdNeed(households: number, useKwh: number): number {
  if (!Number.isInteger(households) || households < 1) throw new InputError('households', `is ${households}, expected a whole number from 1.`);
  if (!(useKwh > 0)) throw new InputError('use-kwh', `is ${useKwh}, expected the yearly use of one household in kWh, above 0.`);
  return households * useKwh;
}

/** How a layout meets a need, and what the whole need would take at the same yield per module. */
export function needMet(needKwh: number, yearly: Measured, count: number, module: Pick<ModuleSpec, 'widthM' | 'heightM'>): { metShare: Measured; modules: Measured; moduleAreaM2: Measured } {
  if (!(needKwh > 0)) return all(missing('no need was stated'));
  if (!isKnown(yearly)) return all(missing(yearly.why));
  if (count === 0 || !(yearly.value > 0)) return { ...all(missing('no module fits')), metShare: measured(0, []) };
  const perModule = yearly.value / count;
  const relative = yearly.u95 / yearly.value;
  const modules = needKwh / perModule;
  return {
    metShare: { value: yearly.value / needKwh, u95: yearly.u95 / needKwh },
    modules: { value: modules, u95: modules * relative },
    moduleAreaM2: { value: modules * module.widthM * module.heightM, u95: modules * relative * module.widthM * module.heightM },
  };
}

const all = (why: Measured) => ({ metShare: why, modules: why, moduleAreaM2: why });
