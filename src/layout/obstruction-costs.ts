import type { SunYear } from '../sun/sun-year.ts';
import type { ShadeScene } from '../sun/horizon.ts';
import { missing, type Measured } from '../units/measured.ts';
import { energyOf, rawEnergyKwh } from './energy.ts';
import type { BuildingFit, PlaneFit } from './fit-building.ts';
import type { FitOptions } from './fit-options.ts';
import { NO_SHIFTS } from './keep-clear-zones.ts';
import { moduleLight, type ModuleLight } from './module-light.ts';
import { countInGroup, quickCount } from './place-modules.ts';
import { usableRegion } from './usable-area.ts';

/** What one obstruction costs. */
export interface ObstructionCost {
  readonly obstruction: string;
  readonly modules: number;
  readonly yearlyEnergyKwh: Measured;
}

/** Light of the layout as it stands, for comparing. */
export interface LitLayout {
  readonly scene: ShadeScene;
  readonly year: SunYear;
  /** Per plane of the fit, in order. */
  readonly light: readonly (readonly ModuleLight[])[];
}

/**
 * Ranks obstructions by what the roof would hold and yield without each: modules from filling its planes again, energy
 * from those modules and from the shade taken off the ones that stand already. Dearest first.
 */
export function obstructionCosts(fit: BuildingFit, options: FitOptions, lit: LitLayout | null, gridToTrueDeg: number): ObstructionCost[] {
  const ids = [...new Set(fit.planes.flatMap(({ usable }) => usable.site.obstructions.map((one) => one.id)))];
  const base = fit.planes.map((plane) => countOn(plane, plane.usable.site, options, gridToTrueDeg));
  return ids.map((id): ObstructionCost => {
    let modules = 0;
    let raw = 0;
    let near: ModuleLight[] = [];
    fit.planes.forEach((plane, p) => {
      const { site } = plane.usable;
      if (!site.obstructions.some((one) => one.id === id)) return;
      const without = { ...site, obstructions: site.obstructions.filter((one) => one.id !== id) };
      const gained = Math.max(0, countOn(plane, without, options, gridToTrueDeg) - base[p]!);
      modules += gained;
      if (!lit) return;
      const free = moduleLight({ ...lit.scene, solids: lit.scene.solids.filter((solid) => solid.id !== id) }, plane.layout.modules, lit.year, options.albedo);
      near = near.concat(free);
      raw += rawEnergyKwh(free, options) - rawEnergyKwh(lit.light[p]!, options);
      // A gained module is taken to yield what the plane's others do without the obstruction.
      if (free.length > 0) raw += (gained * rawEnergyKwh(free, options)) / free.length;
    });
    return { obstruction: id, modules, yearlyEnergyKwh: costEnergy(raw, near, lit, options) };
  }).sort((a, b) => b.modules - a.modules || (b.yearlyEnergyKwh.value ?? 0) - (a.yearlyEnergyKwh.value ?? 0));
}

const countOn = (plane: PlaneFit, site: PlaneFit['usable']['site'], options: FitOptions, gridToTrueDeg: number): number =>
  countInGroup(quickCount({ site, region: usableRegion(site, options.rules.rules, plane.context, plane.shaded, NO_SHIFTS) }, options.module, options.style, plane.rack, gridToTrueDeg), options.leastGroup);

/** The lost energy carries the same relative ± as the energy of the modules about it. */
function costEnergy(raw: number, near: readonly ModuleLight[], lit: LitLayout | null, options: FitOptions): Measured {
  if (!lit) return missing('irradiation not computed');
  if (near.length === 0) return missing('no modules on its plane to compare with');
  const whole = energyOf(near, lit.year, options, '');
  const rawWhole = rawEnergyKwh(near, options);
  if (whole.value === null || !(rawWhole > 0)) return missing('no light on the modules about it');
  const share = raw / rawWhole;
  return { value: whole.value * share, u95: Math.abs(whole.u95 * share) };
}
