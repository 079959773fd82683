import type { Region } from '../geometry/region.ts';
import type { Building, RoofRecord } from '../roof/record.ts';
import { isKnown } from '../units/measured.ts';
import type { RuleContext } from './keep-clear-zones.ts';
import type { ModuleSpec, RackSpec } from './module-spec.ts';
import { inGroups, isLevel, placeModules, rackFacing, type LayoutStyle, type PlaneLayout } from './place-modules.ts';
import { dimPlanesOf, type DimPlaneFinder } from './plane-yield.ts';
import { planeSite, type PlaneSite } from './plane-site.ts';
import { ruleContext } from './rule-context.ts';
import type { RuleSet } from './rule-set.ts';
import { usableArea, type PlaneUsable } from './usable-area.ts';

/** What fitting a building needs to be told. */
export interface BuildingFitOptions {
  readonly rules: RuleSet;
  readonly module: ModuleSpec;
  readonly style: LayoutStyle;
  /** Racks for nearly level planes; null: modules lie on the roof. */
  readonly rack: RackSpec | null;
  /** Bearing racks should face when `rack.facingDeg` is null: the equator, or east for east-west pairs. [deg] */
  readonly wantedFacingDeg: number;
  readonly buildingHeightM: number | null;
  readonly leastGroup: number;
  /** Ground lost to shade on a plane, flat coordinates. */
  readonly shadedGround: (site: PlaneSite) => Region;
  readonly isDim: DimPlaneFinder;
}

export interface PlaneFit {
  readonly usable: PlaneUsable;
  readonly layout: PlaneLayout;
  /** The rack as it stands on this plane, with its bearing; null where modules lie on the roof. */
  readonly rack: RackSpec | null;
  readonly context: RuleContext;
  readonly shaded: Region;
}

export interface BuildingFit {
  readonly building: Building;
  readonly planes: readonly PlaneFit[];
}

/**
 * Keep-clear zones, usable ground and modules of one building. Rules that apply only above a share of modules on the roof
 * are looked at twice: the roof is filled without them, and filled again with them when the share was passed.
 */
export function fitBuilding(record: RoofRecord, building: Building, options: BuildingFitOptions): BuildingFit {
  const sites = building.roofPlanes.map((plane) => planeSite(record, building, plane));
  const dim = dimPlanesOf(building.roofPlanes, options.isDim);
  const shaded = sites.map((site) => (dim.has(site.plane.id) ? [] : options.shadedGround(site)));
  const filled = (share: number): PlaneFit[] => {
    const context = ruleContext(building, options.buildingHeightM, share, dim);
    return sites.map((site, i) => fitPlane(site, shaded[i]!, context, options, record.frame.gridToTrueDeg));
  };
  const first = filled(0);
  const threshold = Math.min(...options.rules.rules.map((rule) => rule.moduleShareFrom ?? Infinity));
  if (threshold === Infinity) return { building, planes: first };
  const share = moduleShare(first);
  if (share <= threshold) return { building, planes: first };
  return { building, planes: filled(share) };
}

/**
 * Usable ground and modules of one plane.
 *
 * @param shaded  Ground given up for shade, flat coordinates.
 * @param taken  Relative ± of the usable area and upper bound of the count, where they need not be worked out.
 */
export function fitPlane(
  site: PlaneSite, shaded: Region, context: RuleContext, options: Omit<BuildingFitOptions, 'shadedGround' | 'isDim'>, gridToTrueDeg: number, taken?: { readonly relativeU95: number; readonly bound: number },
): PlaneFit {
  const usable = usableArea(site, options.rules, context, shaded, taken?.relativeU95);
  const rack = options.rack && isLevel(site)
    ? { ...options.rack, facingDeg: options.rack.facingDeg ?? rackFacing(site, options.wantedFacingDeg, gridToTrueDeg) }
    : null;
  return { usable, rack, context, shaded, layout: inGroups(placeModules(usable, options.module, options.style, rack, gridToTrueDeg, taken?.bound), options.leastGroup) };
}

/** Share of the plan roof area that modules cover. */
function moduleShare(planes: readonly PlaneFit[]): number {
  let covered = 0;
  let roof = 0;
  for (const { usable, layout } of planes) {
    const { plane, frame } = usable.site;
    roof += isKnown(plane.planAreaM2) ? plane.planAreaM2.value : 0;
    for (const { ground } of layout.modules) {
      const [a, b, , d] = ground as readonly [readonly [number, number], readonly [number, number], unknown, readonly [number, number]];
      covered += Math.hypot(b[0] - a[0], b[1] - a[1]) * Math.hypot(d[0] - a[0], d[1] - a[1]) * frame.planPerSlope;
    }
  }
  return roof > 0 ? covered / roof : 0;
}
