import type { Irradiance } from './clear-sky.ts';
import { cosIncidence, type Surface } from './solar-geometry.ts';
import { cos, pow, sin } from '../geometry/same-math.ts';

export type SkyModel = 'isotropic' | 'hay-davies' | 'reindl' | 'klucher';

/** Below this the beam ratio is no longer divided by a smaller number: the sun is at the horizon. [-] sine of 1 degree */
const LOWEST_SUN = 0.01745;

/**
 * Diffuse light of the sky on a tilted surface. [W/m²]
 *
 * - isotropic: Liu & Jordan 1963 (Duffie & Beckman eq. 2.15.1);
 * - hay-davies: Hay & Davies 1980 (eq. 2.16.4), light around the sun treated as beam;
 * - reindl: Reindl, Beckman & Duffie 1990 (eq. 2.16.7 without its beam), brighter horizon as well;
 * - klucher: Klucher 1979, brightening from clear to overcast.
 *
 * @param altitude  Of the sun. [rad]
 * @param azimuth  Of the sun. [rad]
 * @param beamAbove  Beam above the air. [W/m²]
 */
export function skyDiffuse(model: SkyModel, surface: Surface, light: Irradiance, altitude: number, azimuth: number, beamAbove: number): number {
  const { global, beam, diffuse } = light;
  const seen = (1 + cos(surface.tilt)) / 2;
  if (model === 'isotropic') return diffuse * seen;
  const cosine = Math.max(0, cosIncidence(surface, altitude, azimuth));
  const up = Math.max(sin(altitude), LOWEST_SUN);
  if (model === 'klucher') {
    const f = global > 0 ? 1 - (diffuse / global) ** 2 : 0;
    return diffuse * seen * (1 + f * pow(sin(surface.tilt / 2), 3))
      * (1 + f * cosine ** 2 * pow(cos(altitude), 3));
  }
  const anisotropy = beam / beamAbove;
  const around = anisotropy * (cosine / up);
  if (model === 'hay-davies') return diffuse * (around + (1 - anisotropy) * seen);
  const brightening = global > 0 ? Math.sqrt(Math.max(0, beam * sin(altitude)) / global) : 0;
  return diffuse * (around + (1 - anisotropy) * seen * (1 + brightening * pow(sin(surface.tilt / 2), 3)));
}

/** Light the ground throws onto a tilted surface (Liu & Jordan 1963). [W/m²] */
export const groundReflected = (surface: Surface, global: number, albedo: number): number =>
  (global * albedo * (1 - cos(surface.tilt))) / 2;

/** All light on a tilted surface. [W/m²] */
export function onSurface(
  model: SkyModel, surface: Surface, light: Irradiance, altitude: number, azimuth: number, beamAbove: number, albedo: number,
): number {
  return light.beam * Math.max(0, cosIncidence(surface, altitude, azimuth))
    + skyDiffuse(model, surface, light, altitude, azimuth, beamAbove)
    + groundReflected(surface, light.global, albedo);
}
