import type { RoofRecord } from '../roof/record.ts';
import type { ShadeScene } from '../sun/horizon.ts';
import { readyScene, recordScene } from '../sun/record-scene.ts';
import { freeYearKwhM2 } from '../sun/solar-access.ts';
import type { SunYear } from '../sun/sun-year.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import type { LayoutLight } from './edit-layout.ts';
import { energyOf } from './energy.ts';
import { standingScene, yearOf } from './fit-group.ts';
import type { FitOptions } from './fit-options.ts';
import { moduleLight, moduleNormal } from './module-light.ts';

/** The sun of a site and all that throws shade there, made ready once. */
export interface LitSite {
  /** With the solids of refused things; `standingScene` takes them out. */
  readonly scene: ShadeScene;
  readonly year: SunYear;
}

/** @returns Null when latitude and longitude are not known, or shade was not asked for. */
export function litSite(record: RoofRecord, options: FitOptions, surface?: SurfaceModel): LitSite | null {
  const year = options.shade ? yearOf(record, options) : null;
  return year && { year, scene: readyScene(recordScene(record, surface)) };
}

/**
 * Light on single modules while a layout is edited by hand.
 *
 * @param record  For what a person refused: that throws no shade.
 */
export function layoutLight(record: RoofRecord, options: FitOptions, { scene: whole, year }: LitSite): LayoutLight {
  const scene = standingScene(record, whole);
  const free = new Map<string, number>();
  const freeKwhM2: LayoutLight['freeKwhM2'] = (corners) => {
    const normal = moduleNormal({ corners });
    const key = normal.map((part) => part.toFixed(6)).join(' ');
    const known = free.get(key) ?? freeYearKwhM2(normal, year, options.albedo);
    free.set(key, known);
    return known;
  };
  return {
    accessAt: (plane, corners) => moduleLight(scene, [{ plane, ground: [], corners, raisedM: 0 }], year, options.albedo)[0]!.solarAccess,
    freeKwhM2,
    energyKwh: (modules) => energyOf(modules.map(({ corners, solarAccess }) => ({ solarAccess: solarAccess ?? 1, yearlyKwhM2: (solarAccess ?? 1) * freeKwhM2(corners) })), year, options, ''),
  };
}
