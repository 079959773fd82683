import { toPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { signedPlanArea } from '../geometry/polygon.ts';
import type { Region } from '../geometry/region.ts';
import { subtract, length } from '../geometry/vector.ts';
import { withoutRefused } from '../roof/refused-ids.ts';
import type { Building, BuildingLayout, KeepClear, ModuleLayout, Obstruction, RoofRecord, Usable } from '../roof/record.ts';
import { isKnown } from '../units/measured.ts';
import { planesOfBuilding, type BuildingPatch } from './building-patch.ts';
import { fitGroup, NEIGHBOURS, standingScene, wantedFacing, yearOf, type FittedBuilding } from './fit-group.ts';
import { fitPlane, type PlaneFit } from './fit-building.ts';
import type { FitOptions } from './fit-options.ts';
import { usablePlane, zonesOnPlane } from './fit-parts.ts';
import { buildingLayout, whyNoEnergy } from './fit-record.ts';
import { layoutLight, type LitSite } from './layout-light.ts';
import { moduleLight } from './module-light.ts';
import { reaches } from './obstruction-costs.ts';
import { dimPlaneFinder, dimPlanesOf } from './plane-yield.ts';
import { concerns, planeSite, siteObstruction } from './plane-site.ts';
import { isLevel, type PlacedModule } from './place-modules.ts';
import { rackFor } from './rack-row-gap.ts';
import { contentBox, recordNear } from './record-window.ts';
import { ruleContext } from './rule-context.ts';
import type { RuleSet } from './rule-set.ts';
import { groundStillDark } from './shaded-ground.ts';

/** The fit of one building as it stands. */
export interface BuildingStands {
  readonly zones: KeepClear['zones'];
  readonly usable: Usable['planes'];
  readonly modules: ModuleLayout['modules'];
  readonly summary: BuildingLayout;
}

/** Modules nearer than this to where one stood stand where it stood. [m] */
const SAME_PLACE = 0.001;

/**
 * Fits one building again after something about it changed; without draws and costs.
 *
 * @param record  As it is now; what was refused is left out.
 * @param options  Checked.
 * @param lit  Null when shade is not computed.
 */
export function refitBuilding(record: RoofRecord, id: string, options: FitOptions, lit: LitSite | null): BuildingPatch {
  const quiet = { ...options, draws: 0, costs: false };
  const { near } = standingNear(record, id);
  const [fitted] = fitGroup({ record: near, buildings: [id], options: quiet, scene: lit && standingScene(record, lit.scene) });
  return patchOf(record, fitted!, quiet, lit);
}

/**
 * The same after one obstruction was refused, in a fraction of the time: only planes it concerned are filled again, ground
 * that was light stays light (dark ground is judged again in the small squares), and only modules that stand elsewhere now, or stood in its shade, are looked at. Null where
 * that may not give what a whole fit would: when modules come to cover a share of the roof from which other rules apply.
 *
 * @param stands  The fit of the building with the obstruction.
 * @param isFirst  A first answer, for a person who waits: modules stand where they will, but take the light of the nearest
 *   that stood before, areas their relative ±, and the upper bound is that of before.
 */
export function refitWithout(
  record: RoofRecord, id: string, gone: string, stands: BuildingStands, options: FitOptions, lit: LitSite | null, isFirst = false,
): BuildingPatch | null {
  const whole = record.buildings.find((building) => building.id === id);
  const thing = whole?.obstructions.find((one) => one.id === gone);
  if (!whole || !thing) return null;
  const { near, building } = standingNear(record, id);
  const rack = rackFor(options);
  const share = shareOfRules(stands, options.rules);
  const concerned = building.roofPlanes.filter((plane) => concerns(thing, whole, plane));
  const dim = dimPlanesOf(concerned, dimPlaneFinder(options, lit?.year ?? yearOf(record, options)));
  const context = ruleContext(building, options.buildingHeightM, share, dim);
  const asked = { ...options, rack, wantedFacingDeg: wantedFacing(options) };
  const anew = concerned.map((plane): PlaneFit => {
    const site = planeSite(near, building, plane);
    const dark: Region = stands.zones.filter((zone) => zone.plane === plane.id && zone.reason === 'shade').map(({ polygon }) => polygon.map((at) => toPlaneCoordinates(site.frame, at)));
    const shaded = lit ? groundStillDark(site, dark, standingScene(record, lit.scene), lit.year, options, siteObstruction(thing, site.frame, 0)) : dark;
    return fitPlane(site, shaded, context, asked, record.frame.gridToTrueDeg, isFirst ? takenFrom(stands, plane.id) : undefined);
  });
  const patch = joined(record, building, thing, stands, anew, options, lit, isFirst);
  const next = Math.min(...options.rules.rules.map(({ moduleShareFrom }) => (moduleShareFrom !== undefined && moduleShareFrom > share ? moduleShareFrom : Infinity)));
  return coveredShare(building, patch.modules) > next ? null : patch;
}

/** The share of modules that the zones of a fit were made for: that of the widest rule among them. A roof with more room holds no fewer. */
const shareOfRules = ({ zones }: BuildingStands, { rules }: RuleSet): number =>
  rules.reduce((most, { moduleShareFrom, because }) => (moduleShareFrom !== undefined && zones.some((zone) => zone.because.endsWith(because)) ? Math.max(most, moduleShareFrom) : most), 0);

/** Share of the plan roof area that modules cover; no less than `fitBuilding` counts. */
function coveredShare({ roofPlanes }: Building, modules: ModuleLayout['modules']): number {
  const roof = roofPlanes.reduce((sum, { planAreaM2 }) => sum + (planAreaM2.value ?? 0), 0);
  return roof > 0 ? modules.reduce((sum, { corners }) => sum + Math.abs(signedPlanArea(corners.map(([x, y]) => [x, y] as const))), 0) / roof : 0;
}

/** The record as it stands without what was refused, about a building. */
function standingNear(record: RoofRecord, id: string): { near: RoofRecord; building: Building } {
  const standing = withoutRefused(record);
  const building = standing.buildings.find((one) => one.id === id)!;
  return { near: recordNear(standing, contentBox([building]), NEIGHBOURS), building };
}

function joined(record: RoofRecord, building: Building, gone: Obstruction, stands: BuildingStands, anew: readonly PlaneFit[], options: FitOptions, lit: LitSite | null, isFirst: boolean): BuildingPatch {
  const fits = new Map(anew.map((fit) => [fit.usable.site.plane.id, fit]));
  const before = new Map(stands.usable.map((plane) => [plane.id, plane]));
  const usable = building.roofPlanes.flatMap(({ id }) => {
    const fit = fits.get(id);
    const plane = fit ? usablePlane(fit) : before.get(id);
    return plane ? [plane] : [];
  });
  const modules = !lit || isFirst ? modulesBeside(building, stands, fits) : litModules(record, building, gone, stands, fits, options, lit);
  const light = lit && layoutLight(record, options, lit);
  const fitted: FittedBuilding = {
    id: building.id, zones: anew.flatMap(zonesOnPlane), usable: usable.filter((plane): plane is FittedBuilding['usable'][number] => isKnown(plane.usableSlopeAreaM2)), modules,
    light: light && modules.map(({ corners, solarAccess }) => ({ solarAccess: solarAccess ?? 1, yearlyKwhM2: (solarAccess ?? 1) * light.freeKwhM2(corners) })),
    upperBound: usable.reduce((sum, plane) => sum + (plane.mostModules ?? 0), 0), sensitivity: null, costs: [],
  };
  const year = lit?.year ?? null;
  const ids = [...fits.keys()];
  return {
    building: building.id, modules, summary: buildingLayout(fitted, options, year, whyNoEnergy(year)),
    ground: { planes: ids, zones: fitted.zones, usable: fitted.usable.filter(({ id }) => fits.has(id)) },
  };
}

const numbered = (plane: string, i: number): string => `${plane}.m${i + 1}`;

/** Modules with the light of the nearest that stood on their plane before, or of the building. */
function modulesBeside(building: Building, { modules, summary }: BuildingStands, fits: ReadonlyMap<string, PlaneFit>): ModuleLayout['modules'] {
  return building.roofPlanes.flatMap(({ id }) => {
    const own = modules.filter(({ plane }) => plane === id);
    const fit = fits.get(id);
    return fit ? fit.layout.modules.map(({ corners }, i) => ({ id: numbered(id, i), plane: id, corners, solarAccess: nearestAccess(own, corners) ?? summary.solarAccess })) : own;
  });
}

function nearestAccess(modules: ModuleLayout['modules'], [corner]: PlacedModule['corners']): number | null {
  let [nearest, least]: [number | null, number] = [null, Infinity];
  for (const { corners, solarAccess } of modules) {
    const away = length(subtract(corners[0]!, corner!));
    if (away < least) [nearest, least] = [solarAccess, away];
  }
  return nearest;
}

/** Relative ± of a plane's usable area as it stands, 0 where nothing was usable; and its upper bound, which more room may raise. */
function takenFrom({ usable }: BuildingStands, plane: string): { relativeU95: number; bound: number } {
  const { usableSlopeAreaM2: area, mostModules } = usable.find(({ id }) => id === plane) ?? {};
  return { relativeU95: area && isKnown(area) && area.value > 0 ? area.u95 / area.value : 0, bound: mostModules ?? 0 };
}

/** Modules with the light on them, looked at only where it may have changed. */
function litModules(
  record: RoofRecord, building: Building, gone: Obstruction, stands: BuildingStands, fits: ReadonlyMap<string, PlaneFit>, options: FitOptions, lit: LitSite,
): ModuleLayout['modules'] {
  const scene = standingScene(record, lit.scene);
  const solids = lit.scene.solids.filter(({ id }) => id === gone.id);
  return building.roofPlanes.flatMap(({ id, normal }) => {
    const own = stands.modules.filter(({ plane }) => plane === id);
    const onRacks = options.rack !== null && isLevel({ frame: { planPerSlope: normal[2] } });
    const now: readonly PlacedModule[] = fits.get(id)?.layout.modules ?? own.map(({ plane, corners }) => ({ plane, corners, ground: [], raisedM: onRacks ? raisedOf(corners) : 0 }));
    const known = now.map((module) => {
      const stood = own.find(({ corners }) => corners.every((at, k) => length(subtract(at, module.corners[k]!)) < SAME_PLACE));
      return stood && module.raisedM === 0 && !solids.some((solid) => reaches(solid, module)) ? stood.solarAccess : null;
    });
    const asked = now.filter((_, i) => known[i] === null);
    const access = moduleLight(scene, asked, lit.year, options.albedo, now).values();
    return now.map(({ corners }, i) => ({ id: fits.has(id) ? numbered(id, i) : own[i]!.id, plane: id, corners, solarAccess: known[i] ?? access.next().value!.solarAccess }));
  });
}

/** Rise of a module on a rack over its own length. [m] */
const raisedOf = (corners: PlacedModule['corners']): number => Math.max(...corners.map((at) => at[2])) - Math.min(...corners.map((at) => at[2]));

function patchOf(record: RoofRecord, fitted: FittedBuilding, options: FitOptions, lit: LitSite | null): BuildingPatch {
  const year = lit?.year ?? null;
  return {
    building: fitted.id, modules: fitted.modules, summary: buildingLayout(fitted, options, year, whyNoEnergy(year)),
    ground: { planes: [...planesOfBuilding(record, fitted.id)], zones: fitted.zones, usable: fitted.usable },
  };
}

/** The fit of a building out of a whole one. */
export function buildingStands(record: RoofRecord, id: string): BuildingStands | null {
  const { keepClear, usable, layout } = record;
  const summary = layout?.buildings?.find((one) => one.id === id);
  if (!keepClear || !usable || !summary) return null;
  const planes = planesOfBuilding(record, id);
  return {
    zones: keepClear.zones.filter(({ plane }) => planes.has(plane)), usable: usable.planes.filter((one) => planes.has(one.id)),
    modules: layout!.modules.filter(({ plane }) => planes.has(plane)), summary,
  };
}
