import type { RoofRecord } from '../roof/record.ts';
import { freeYearKwhM2 } from '../sun/solar-access.ts';
import { readyScene, recordScene } from '../sun/record-scene.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import type { LayoutLight } from './edit-layout.ts';
import { yearOf } from './fit-group.ts';
import type { FitOptions } from './fit-options.ts';
import { moduleLight, moduleNormal } from './module-light.ts';

/**
 * Prepares the sun and the scene once, so that single modules can be looked at while a layout is edited by hand.
 *
 * @returns Null when latitude and longitude are not known, or shade was not asked for.
 */
export function layoutLight(record: RoofRecord, options: FitOptions, surface?: SurfaceModel): LayoutLight | null {
  const year = options.shade ? yearOf(record, options) : null;
  if (!year) return null;
  const scene = readyScene(recordScene(record, surface));
  const free = new Map<string, number>();
  return {
    accessAt: (plane, corners) => moduleLight(scene, [{ plane, ground: [], corners, raisedM: 0 }], year, options.albedo)[0]!.solarAccess,
    freeKwhM2(corners) {
      const normal = moduleNormal({ corners });
      const key = normal.map((part) => part.toFixed(6)).join(' ');
      const known = free.get(key) ?? freeYearKwhM2(normal, year, options.albedo);
      free.set(key, known);
      return known;
    },
  };
}
