import { exp, pow, sin } from '../geometry/same-math.ts';
/** Light on the level and square to the sun. [W/m²] */
export interface Irradiance {
  /** All light on the level. */
  readonly global: number;
  /** From the sun's disc, square to it. */
  readonly beam: number;
  /** From the rest of the sky, on the level. */
  readonly diffuse: number;
}

const NIGHT: Irradiance = { global: 0, beam: 0, diffuse: 0 };

/**
 * Air crossed by a ray, relative to the zenith (Kasten & Young 1989). [-]
 *
 * @param altitude  Apparent altitude. [rad]
 */
export function airMass(altitude: number): number {
  const degrees = (altitude * 180) / Math.PI;
  return 1 / (sin(altitude) + 0.505_72 * pow(degrees + 6.079_95, -1.6364));
}

/** Air pressure over that at sea level (standard atmosphere). [-] @param elevation above the sea [m] */
export const pressureRatio = (elevation: number): number => pow(1 - 2.255_77e-5 * elevation, 5.255_88);

/**
 * Global light of a clear sky from the sun's altitude alone (Haurwitz 1945: 1098 cos z exp(-0.059 / cos z)). The constant
 * is 0.059; copies with 0.057 are in circulation and do not give the published values. [W/m²]
 */
export function haurwitz(altitude: number): number {
  const up = sin(altitude);
  return up > 0 ? 1098 * up * exp(-0.059 / up) : 0;
}

/**
 * Clear sky after Ineichen & Perez (2002), with the correction of beam for low turbidity after Ineichen (2008) as coded in
 * public reference libraries.
 *
 * @param altitude  Apparent altitude of the sun. [rad]
 * @param relativeAirMass  Corrected for pressure. [-]
 * @param linkeTurbidity  [-]
 * @param elevation  Of the site above the sea. [m]
 * @param beamAbove  Beam above the air. [W/m²]
 */
export function ineichen(altitude: number, relativeAirMass: number, linkeTurbidity: number, elevation: number, beamAbove: number): Irradiance {
  const up = sin(altitude);
  if (!(up > 0)) return NIGHT;
  const fh1 = exp(-elevation / 8000);
  const fh2 = exp(-elevation / 1250);
  const cg1 = 5.09e-5 * elevation + 0.868;
  const cg2 = 3.92e-5 * elevation + 0.0387;
  const haze = linkeTurbidity - 1;
  const global = cg1 * beamAbove * up * exp(-cg2 * relativeAirMass * (fh1 + fh2 * haze));
  const b = 0.664 + 0.163 / fh1;
  const plain = beamAbove * b * exp(-0.09 * relativeAirMass * haze);
  const limit = (global * (1 - (0.1 - 0.2 * exp(-linkeTurbidity)) / (0.1 + 0.882 / fh1))) / up;
  const beam = Math.max(0, Math.min(plain, limit));
  return { global, beam, diffuse: Math.max(0, global - beam * up) };
}

/**
 * Share of diffuse in global light from the clearness of the hour (Erbs, Klein & Duffie 1982; Duffie & Beckman
 * eq. 2.10.1). [-]
 *
 * @param clearness  Global light over that above the air, both on the level. [-]
 */
export function erbsDiffuseShare(clearness: number): number {
  const k = clearness;
  if (k <= 0.22) return 1 - 0.09 * Math.max(0, k);
  if (k <= 0.8) return 0.9511 - 0.1604 * k + 4.388 * k ** 2 - 16.638 * pow(k, 3) + 12.336 * pow(k, 4);
  return 0.165;
}
