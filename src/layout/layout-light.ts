import type { RoofRecord } from '../roof/record.ts';
import { recordScene } from '../sun/record-scene.ts';
import { sunYear } from '../sun/sun-year.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import type { LightAt } from './edit-layout.ts';
import type { FitOptions } from './fit-options.ts';
import { moduleLight } from './module-light.ts';

/**
 * Prepares the sun and the scene once, so that single modules can be looked at while a layout is edited by hand.
 *
 * @returns Null when latitude and longitude are not known, or shade was not asked for.
 */
export function layoutLight(record: RoofRecord, options: FitOptions, surface?: SurfaceModel): LightAt | null {
  const { latitudeDeg, longitudeDeg } = options;
  if (latitudeDeg === null || longitudeDeg === null || !options.shade) return null;
  const year = sunYear({ ...options, latitudeDeg, longitudeDeg, gridToTrueDeg: record.frame.gridToTrueDeg });
  const scene = recordScene(record, surface);
  return (plane, corners) => moduleLight(scene, [{ plane, ground: [], corners, raisedM: 0 }], year, options.albedo)[0]!;
}
