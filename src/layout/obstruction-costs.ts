import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { ShadeScene, Solid } from '../sun/horizon.ts';
import type { SunYear } from '../sun/sun-year.ts';
import { measured, missing, type Measured } from '../units/measured.ts';
import { energyOf, rawEnergyKwh } from './energy.ts';
import type { BuildingFit, PlaneFit } from './fit-building.ts';
import type { FitOptions } from './fit-options.ts';
import { NO_SHIFTS } from './keep-clear-zones.ts';
import { moduleLight, type ModuleLight } from './module-light.ts';
import { countInGroup, quickCount, quickModules, type PlacedModule } from './place-modules.ts';
import type { PlaneSite } from './plane-site.ts';
import { groundStillDark } from './shaded-ground.ts';
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

/** A thing's shade is followed to where it hides the lowest 7 degrees of the sky. [m of reach per m of height] */
const REACH_PER_HEIGHT = 8;
/** And this much farther: half a module and half the thing. [m] */
const BESIDE = 2;

/** Dearest first: modules, then energy; equals in the order of their names, so that the order is the same every time. */
export const dearestFirst = (a: ObstructionCost, b: ObstructionCost): number =>
  b.modules - a.modules || (b.yearlyEnergyKwh.value ?? 0) - (a.yearlyEnergyKwh.value ?? 0) || (a.obstruction < b.obstruction ? -1 : 1);

/**
 * Ranks obstructions by what the roof would hold and yield without each: modules from filling its planes again, on the
 * ground it takes and the ground it leaves in the dark; energy from those modules, and from the shade taken off all that
 * stand already within its reach. Dearest first.
 */
export function obstructionCosts(fit: BuildingFit, options: FitOptions, lit: LitLayout | null, gridToTrueDeg: number): ObstructionCost[] {
  const ids = [...new Set(fit.planes.flatMap(({ usable }) => usable.site.obstructions.map((one) => one.id)))];
  const base = fit.planes.map((plane) => countOn(plane, plane.usable.site, plane.shaded, options, gridToTrueDeg));
  return ids.map((id): ObstructionCost => {
    const without = lit && { ...lit, scene: { ...lit.scene, solids: lit.scene.solids.filter((solid) => solid.id !== id) } };
    const solids = lit?.scene.solids.filter((solid) => solid.id === id) ?? [];
    const gains = fit.planes.map((plane, p) => gainOn(plane, base[p]!, id, without, options, gridToTrueDeg));
    const raw = gains.reduce((sum, gain) => sum + gain.raw, 0) + (without ? fit.planes.reduce((sum, plane, p) => sum + unshadedKwh(plane, lit.light[p]!, solids, without, options), 0) : 0);
    return { obstruction: id, modules: gains.reduce((sum, gain) => sum + gain.modules, 0), yearlyEnergyKwh: costEnergy(raw, gains.flatMap(({ light }) => light), lit, options) };
  }).sort(dearestFirst);
}

interface Gain {
  readonly modules: number;
  /** What they yield. [kWh] */
  readonly raw: number;
  /** On the modules the plane would hold. */
  readonly light: readonly ModuleLight[];
}

/** Modules more on a plane without an obstruction; they yield what the modules of the plane filled without it do on average. */
function gainOn(plane: PlaneFit, base: number, id: string, without: LitLayout | null, options: FitOptions, gridToTrueDeg: number): Gain {
  const { site } = plane.usable;
  if (!site.obstructions.some((one) => one.id === id)) return { modules: 0, raw: 0, light: [] };
  const bare = { ...site, obstructions: site.obstructions.filter((one) => one.id !== id) };
  const shaded = without ? groundStillDark(site, plane.shaded, without.scene, without.year, options, site.obstructions.find((one) => one.id === id)!) : plane.shaded;
  const modules = Math.max(0, countOn(plane, bare, shaded, options, gridToTrueDeg) - base);
  if (!without || modules === 0) return { modules, raw: 0, light: [] };
  const region = usableRegion(bare, options.rules.rules, plane.context, shaded, NO_SHIFTS);
  const light = moduleLight(without.scene, quickModules({ site: bare, region }, options.module, options.style, plane.rack, gridToTrueDeg), without.year, options.albedo);
  return { modules, raw: (modules * rawEnergyKwh(light, options)) / Math.max(1, light.length), light };
}

const countOn = (plane: PlaneFit, site: PlaneSite, shaded: PlaneFit['shaded'], options: FitOptions, gridToTrueDeg: number): number =>
  countInGroup(quickCount({ site, region: usableRegion(site, options.rules.rules, plane.context, shaded, NO_SHIFTS) }, options.module, options.style, plane.rack, gridToTrueDeg), options.leastGroup);

/** What the modules of a plane that stand within reach of a thing's shade would yield more without it. [kWh] */
function unshadedKwh({ layout }: PlaneFit, light: readonly ModuleLight[], solids: readonly Solid[], without: LitLayout, options: FitOptions): number {
  const reached = layout.modules.flatMap((module, i) => (solids.some((solid) => reaches(solid, module)) ? [i] : []));
  if (reached.length === 0) return 0;
  const free = moduleLight(without.scene, reached.map((i) => layout.modules[i]!), without.year, options.albedo, layout.modules);
  return Math.max(0, rawEnergyKwh(free, options) - rawEnergyKwh(reached.map((i) => light[i]!), options));
}

/** Whether a thing's shade may reach a module. */
export function reaches({ footprint, top }: Solid, { corners }: PlacedModule): boolean {
  const [x, y] = middleOf(footprint);
  const [mx, my] = middleOf(corners);
  const height = top - Math.min(...corners.map((at) => at[2]));
  return height > 0 && Math.hypot(mx - x, my - y) < REACH_PER_HEIGHT * height + BESIDE;
}

function middleOf(ring: readonly (Vector2 | Vector3)[]): Vector2 {
  const sum = ring.reduce(([x, y], at): Vector2 => [x + at[0], y + at[1]], [0, 0] as Vector2);
  return [sum[0] / ring.length, sum[1] / ring.length];
}

/** The lost energy carries the same relative ± as that of the modules gained, or of all that stand. */
function costEnergy(raw: number, gained: readonly ModuleLight[], lit: LitLayout | null, options: FitOptions): Measured {
  if (!lit) return missing('irradiation not computed');
  if (raw === 0) return measured(0, []);
  const light = gained.length > 0 ? gained : lit.light.flat();
  const whole = energyOf(light, lit.year, options, '');
  const rawWhole = rawEnergyKwh(light, options);
  if (whole.value === null || !(rawWhole > 0)) return missing('no light on the modules about it');
  const share = raw / rawWhole;
  return { value: whole.value * share, u95: Math.abs(whole.u95 * share) };
}
