import { acos, atan2, cos, sin, tan } from '../geometry/same-math.ts';
const clamp = (cosine: number): number => Math.min(1, Math.max(-1, cosine));

/** A tilted surface. */
export interface Surface {
  /** 0 level, pi/2 upright. [rad] */
  readonly tilt: number;
  /** Bearing it faces, clockwise from true north. [rad] */
  readonly azimuth: number;
}

/** Cosine of the angle between the sun and the normal of a surface (Duffie & Beckman eq. 1.6.3). [-] */
export const cosIncidence = (surface: Surface, altitude: number, azimuth: number): number =>
  clamp(sin(altitude) * cos(surface.tilt) + cos(altitude) * sin(surface.tilt) * cos(azimuth - surface.azimuth));

/** Angle between the sun and the normal of a surface. [rad] */
export const incidence = (surface: Surface, altitude: number, azimuth: number): number =>
  acos(cosIncidence(surface, altitude, azimuth));

/**
 * Profile angle: the sun's altitude as seen square to a wall or row that faces `facing` (Duffie & Beckman eq. 1.6.12).
 * Between pi/2 and pi the sun is behind. [rad]
 */
export const profileAngle = (altitude: number, azimuth: number, facing: number): number =>
  atan2(sin(altitude), cos(altitude) * cos(azimuth - facing));

/**
 * Zenith angle of the sun in the plane square to a long axis, positive to the right of the axis seen along its azimuth
 * (Anderson & Mikofski 2020, NREL, eq. 5; the profile angle for a tilted axis). [rad]
 */
export function projectedZenith(altitude: number, azimuth: number, axisTilt: number, axisAzimuth: number): number {
  const x = cos(altitude) * sin(azimuth);
  const y = cos(altitude) * cos(azimuth);
  const z = sin(altitude);
  const across = x * cos(axisAzimuth) - y * sin(axisAzimuth);
  const up = (x * sin(axisAzimuth) + y * cos(axisAzimuth)) * sin(axisTilt) + z * cos(axisTilt);
  return atan2(across, up);
}

/** Hour angle at which the sun sets on a level horizon (Duffie & Beckman eq. 1.6.10); pi: never sets, 0: never rises. [rad] */
export const sunsetHourAngle = (latitude: number, declination: number): number =>
  acos(clamp(-tan(latitude) * tan(declination)));

/**
 * Beam on a tilted surface over beam on the level (Duffie & Beckman eq. 1.8.1); 0 when the sun is behind the surface. [-]
 *
 * @throws RangeError when the sun is not up.
 */
export function beamRatio(surface: Surface, altitude: number, azimuth: number): number {
  if (!(altitude > 0)) throw new RangeError('The sun is not up.');
  return Math.max(0, cosIncidence(surface, altitude, azimuth)) / sin(altitude);
}
