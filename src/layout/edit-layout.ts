import { fromPlaneCoordinates, planeCoordinates, toPlaneCoordinates, type PlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { intersect, regionArea, shrinkSharp, subtractRegion, type Region } from '../geometry/region.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { ModuleLayout, RoofPlane, RoofRecord } from '../roof/record.ts';
import { isKnown, missing, type Measured } from '../units/measured.ts';

/** A change to a layout by hand. */
export type LayoutEdit =
  | { readonly kind: 'remove'; readonly id: string }
  /** `by`: along the surface, level (u) and up the slope (v). [m] */
  | { readonly kind: 'move'; readonly id: string; readonly by: Vector2 }
  /** Corners counter-clockwise from above, on the plane or raised above it. */
  | { readonly kind: 'place'; readonly plane: string; readonly corners: readonly Vector3[] };

export type EditOutcome =
  | { readonly ok: true; readonly record: RoofRecord }
  | { readonly ok: false; readonly why: string };

/** Light on modules, for the energy to follow an edit; see `layoutLight`. */
export interface LayoutLight {
  /** Solar access of a module at a place. */
  accessAt(plane: string, corners: readonly Vector3[]): number;
  /** Irradiation of a year on it under a free sky. [kWh/m²] */
  freeKwhM2(corners: readonly Vector3[]): number;
  /** Yearly energy of modules, from the light on each. [kWh] */
  energyKwh(modules: readonly Pick<ModuleLayout['modules'][number], 'corners' | 'solarAccess'>[]): Measured;
}

/** Overlaps below this are rounding. [m²] A tenth of a millimetre along a long side. */
const ROUNDING_M2 = 2e-4;

/**
 * Whether a module may stand where its corners say: wholly on usable ground of its plane, and clear of other modules by
 * the gap. The same test for every hand.
 *
 * @param ground  Usable ground of the plane, flat coordinates.
 * @param gap  Least distance from other modules. [m]
 */
export function canPlace(
  ground: Region, corners: readonly Vector2[], others: readonly (readonly Vector2[])[], gap: number,
): { readonly ok: true } | { readonly ok: false; readonly why: string } {
  const area = regionArea([corners]);
  if (!(area > 0)) return { ok: false, why: 'its corners do not run counter-clockwise about an area' };
  if (regionArea(subtractRegion([corners], ground)) > ROUNDING_M2) return { ok: false, why: 'it would leave the usable ground or touch a keep-clear zone' };
  // Half the gap off either module's neighbour is the whole gap between them.
  const room = gap > 0 ? shrinkSharp([corners], -(gap - 1e-4)) : [corners];
  for (const other of others) {
    if (boxesMeet(room[0]!, other) && regionArea(intersect(room, [other])) > ROUNDING_M2) return { ok: false, why: 'it would stand on or too near another module' };
  }
  return { ok: true };
}

/** Whether the boxes about two rings meet: far modules need no closer look. */
function boxesMeet(a: readonly Vector2[], b: readonly Vector2[]): boolean {
  const apart = (axis: 0 | 1): boolean =>
    Math.max(...a.map((at) => at[axis])) < Math.min(...b.map((at) => at[axis])) || Math.max(...b.map((at) => at[axis])) < Math.min(...a.map((at) => at[axis]));
  return !apart(0) && !apart(1);
}

/**
 * Changes a layout by hand, with count, rated power and energy following. Refused, with the reason, where the module could
 * not stand. Fast enough to follow a pointer.
 *
 * @param gap  Least distance between modules. [m]
 * @param light  Null when irradiation is not computed: the energy is then unknown after the edit, unless it was already.
 */
export function editLayout(record: RoofRecord, edit: LayoutEdit, gap: number, light: LayoutLight | null): EditOutcome {
  const { layout, usable } = record;
  if (!layout || !usable) return { ok: false, why: 'the record has no layout yet' };
  if (edit.kind === 'place') return placed(record, layout, edit.plane, edit.corners, null, gap, light);
  const old = layout.modules.find((module) => module.id === edit.id);
  if (!old) return { ok: false, why: `there is no module ${edit.id}` };
  if (edit.kind === 'remove') return { ok: true, record: withModules(record, layout, layout.modules.filter((one) => one !== old), light) };
  const plane = findPlane(record, old.plane);
  if (!plane) return { ok: false, why: `there is no plane ${old.plane}` };
  const { u, v } = frameOf(plane);
  const [du, dv] = edit.by;
  const corners = old.corners.map((at): Vector3 => [
    at[0] + du * u[0] + dv * v[0], at[1] + du * u[1] + dv * v[1], at[2] + du * u[2] + dv * v[2],
  ]);
  return placed(record, layout, old.plane, corners, old.id, gap, light);
}

/** Distance between tried places, and how far from the one asked for. [m] A hand points to a third of a module. */
const TRY_STEP = 0.08;
const TRY_REACH = 0.64;

/**
 * Where a module may stand nearest to a place that was pointed at, not turned.
 *
 * @param gap  Least distance between modules. [m]
 * @returns Its corners; null when no place within reach is free.
 */
export function nearestPlace(record: RoofRecord, planeId: string, corners: readonly Vector3[], gap: number): Vector3[] | null {
  const plane = findPlane(record, planeId);
  const usable = record.usable?.planes.find((one) => one.id === planeId);
  if (!plane || !usable) return null;
  const frame = frameOf(plane);
  const flat = (ring: readonly Vector3[]): Vector2[] => ring.map((at) => toPlaneCoordinates(frame, at));
  const ground = usable.polygons.map(flat);
  const others = (record.layout?.modules ?? []).filter((one) => one.plane === planeId).map((one) => flat(one.corners));
  const asked = flat(corners);
  for (const [du, dv] of TRIES) {
    if (!canPlace(ground, asked.map(([u, v]): Vector2 => [u + du, v + dv]), others, gap).ok) continue;
    const { u, v } = frame;
    return corners.map((at): Vector3 => [at[0] + du * u[0] + dv * v[0], at[1] + du * u[1] + dv * v[1], at[2] + du * u[2] + dv * v[2]]);
  }
  return null;
}

/** Shifts to try, nearest first. */
const TRIES: readonly Vector2[] = (() => {
  const count = Math.round(TRY_REACH / TRY_STEP);
  const tries: Vector2[] = [];
  for (let i = -count; i <= count; i++) for (let j = -count; j <= count; j++) tries.push([i * TRY_STEP, j * TRY_STEP]);
  return tries.sort((a, b) => Math.hypot(...a) - Math.hypot(...b));
})();

/** Corners of a module of the given size lying on a plane, its lower left corner at a position along the surface. */
export function moduleCorners(plane: RoofPlane, at: Vector2, width: number, height: number): Vector3[] {
  const frame = frameOf(plane);
  return ([[0, 0], [width, 0], [width, height], [0, height]] as const)
    .map(([u, v]) => fromPlaneCoordinates(frame, [at[0] + u, at[1] + v]));
}

/** Flat coordinates of a plane for edits: origin straight above or below the local frame's. */
export const frameOf = (plane: RoofPlane): PlaneCoordinates => planeCoordinates(plane, [0, 0]);

function placed(
  record: RoofRecord, layout: ModuleLayout, planeId: string, corners: readonly Vector3[], replaces: string | null, gap: number, light: LayoutLight | null,
): EditOutcome {
  const plane = findPlane(record, planeId);
  const usable = record.usable?.planes.find((one) => one.id === planeId);
  if (!plane || !usable) return { ok: false, why: `there is no usable ground on plane ${planeId}` };
  const frame = frameOf(plane);
  const flat = (ring: readonly Vector3[]): Vector2[] => ring.map((at) => toPlaneCoordinates(frame, at));
  const others = layout.modules.filter((one) => one.plane === planeId && one.id !== replaces);
  const check = canPlace(usable.polygons.map(flat), flat(corners), others.map((one) => flat(one.corners)), gap);
  if (!check.ok) return check;
  const id = replaces ?? freeId(layout, planeId);
  const module = { id, plane: planeId, corners, solarAccess: light ? light.accessAt(planeId, corners) : null };
  const modules = replaces === null ? [...layout.modules, module] : layout.modules.map((one) => (one.id === replaces ? module : one));
  return { ok: true, record: withModules(record, layout, modules, light) };
}

function freeId(layout: ModuleLayout, plane: string): string {
  const taken = new Set(layout.modules.map((module) => module.id));
  let number = 1;
  while (taken.has(`${plane}.m${number}`)) number++;
  return `${plane}.m${number}`;
}

const findPlane = (record: RoofRecord, id: string): RoofPlane | undefined =>
  record.buildings.flatMap((building) => building.roofPlanes).find((plane) => plane.id === id);

function withModules(record: RoofRecord, layout: ModuleLayout, modules: ModuleLayout['modules'], light: LayoutLight | null): RoofRecord {
  const perModule = layout.count > 0 ? layout.ratedPowerKw / layout.count : (layout.module?.ratedPowerW ?? 0) / 1000;
  const yearlyEnergyKwh = followedEnergy(layout, modules, light);
  const { needKwh } = layout;
  return {
    ...record,
    layout: {
      ...layout, modules, count: modules.length, upperBound: Math.max(layout.upperBound, modules.length),
      ratedPowerKw: perModule * modules.length, yearlyEnergyKwh,
      ...(layout.need && needKwh ? { need: { ...layout.need, metShare: shareOf(yearlyEnergyKwh, needKwh) } } : {}),
      ...(layout.buildings ? { buildings: layout.buildings.map((one) => recounted(record, one, layout, modules, perModule, light)) } : {}),
    },
  };
}

const shareOf = (energy: Measured, need: number): Measured =>
  isKnown(energy) ? { value: energy.value / need, u95: energy.u95 / need } : energy;

function recounted(
  record: RoofRecord, building: NonNullable<ModuleLayout['buildings']>[number], layout: ModuleLayout, modules: ModuleLayout['modules'],
  perModule: number, light: LayoutLight | null,
): NonNullable<ModuleLayout['buildings']>[number] {
  const planes = new Set(record.buildings.find((one) => one.id === building.id)?.roofPlanes.map((plane) => plane.id));
  const before = layout.modules.filter((module) => planes.has(module.plane));
  const after = modules.filter((module) => planes.has(module.plane));
  const known = after.map((module) => module.solarAccess).filter((access) => access !== null);
  const { sensitivity: _, ...rest } = building;
  const unchanged = before.length === after.length && before.every((module, i) => module === after[i]);
  if (unchanged) return building;
  return {
    ...rest, count: after.length, upperBound: Math.max(building.upperBound, after.length), ratedPowerKw: after.length * perModule,
    yearlyEnergyKwh: followedEnergy({ ...layout, modules: before, yearlyEnergyKwh: building.yearlyEnergyKwh }, after, light),
    solarAccess: known.length > 0 ? known.reduce((sum, access) => sum + access, 0) / known.length : null,
  };
}

/** Energy in proportion to the light on the modules before and after. */
function followedEnergy(layout: ModuleLayout, modules: ModuleLayout['modules'], light: LayoutLight | null): Measured {
  const energy = layout.yearlyEnergyKwh;
  if (!isKnown(energy)) return energy;
  if (!light) return missing('the layout was changed and irradiation is not at hand');
  const lightOf = ({ corners, solarAccess }: ModuleLayout['modules'][number]): number => light.freeKwhM2(corners) * (solarAccess ?? 1);
  const before = layout.modules.reduce((sum, module) => sum + lightOf(module), 0);
  const after = modules.reduce((sum, module) => sum + lightOf(module), 0);
  // Where none stood before there is nothing to go by.
  if (!(before > 0)) return after === 0 ? energy : light.energyKwh(modules);
  const share = after / before;
  return {
    value: energy.value * share, u95: energy.u95 * share,
    ...(energy.parts ? { parts: energy.parts.map(({ name, u95 }) => ({ name, u95: u95 * share })) } : {}),
  };
}
