import type { Vector3 } from '../geometry/vector.ts';
import { radians } from '../units/quantity.ts';
import type { LocalFrame } from './local-frame.ts';
import { isInArea } from './place-in-area.ts';
import { projectionOf, type Projection } from './projection.ts';
import { atan2, cos, sin } from '../geometry/same-math.ts';

/** Wide enough that the last point of a survey does not move the origin, small against what single precision can hold. [m] */
const ORIGIN_STEP = 10;
/** Half step of the differences. Truncation is (step)² / 6 = 2e-9 of the value, rounding of grid coordinates far less. [rad] */
const STEP = 1e-4;
const RADIANS = Math.PI / 180;

/**
 * Local frame in the middle of a survey. Its origin stands on whole tens of metres and depends on the bounds alone,
 * never on the order of points or files.
 *
 * @param bounds  Of all points, source coordinates in metres, z up.
 * @param crs  `EPSG:n`; null when not known. Then, and where the bounds lie outside the area of the projection, grid north is
 *   taken for true north, and grid lengths for ground lengths.
 */
export async function makeLocalFrame(bounds: { readonly min: Vector3; readonly max: Vector3 }, crs: string | null): Promise<LocalFrame> {
  const { min, max } = bounds;
  const origin: Vector3 = [
    onStep((min[0] + max[0]) / 2, Math.round),
    onStep((min[1] + max[1]) / 2, Math.round),
    onStep(min[2], Math.floor),
  ];
  const projection = crs === null ? null : await projectionOf(crs);
  if (!projection || !isInArea(projection, origin[0], origin[1])) return { origin, gridToTrue: radians(0), scaleFactor: 1 };
  const { gridToTrue, pointScale, meanRadius } = gridAt(projection, origin[0], origin[1]);
  return {
    origin,
    gridToTrue: radians(onFrameStep(gridToTrue)),
    scaleFactor: onFrameStep(pointScale * elevationFactor(origin[2], meanRadius)),
  };
}

/**
 * Engines round sines and logarithms differently in the last bit, and differences of a projection magnify that to some 1e-13:
 * without rounding the same file gives another record in a page than under Node. 1e-10 rad is 0.02 milliseconds of arc. [rad] or [-]
 */
const FRAME_STEP = 1e-10;

const onFrameStep = (value: number): number => Math.round(value / FRAME_STEP) * FRAME_STEP + 0;

// Adding 0 turns a minus zero into a plain one, as a record shows it.
const onStep = (value: number, round: (value: number) => number): number => round(value / ORIGIN_STEP) * ORIGIN_STEP + 0;

/**
 * Length at the ellipsoid over length at an elevation. The elevation in the site's vertical datum stands for the height above
 * the ellipsoid: the two differ by up to some 100 m, which is 16 mm in a kilometre.
 */
export const elevationFactor = (elevation: number, radius: number): number => radius / (radius + elevation);

export interface GridAtPoint {
  /** True bearing of grid north: the meridian convergence, positive where grid north lies east of true north. [rad] */
  readonly gridToTrue: number;
  /** Grid length over ellipsoid length; on a grid that is not conformal, the root of the area scale. [-] */
  readonly pointScale: number;
  /** Mean radius of curvature of the ellipsoid here. [m] */
  readonly meanRadius: number;
}

/**
 * North and scale of a grid at a point, from central differences of the projection itself, so that they hold for every
 * method (J. Snyder 1987, PP 1395, ch. 4: the metric of a map from its partial derivatives).
 *
 * @param x  [m] @param y  [m]
 */
export function gridAt(projection: Projection, x: number, y: number): GridAtPoint {
  const { radius, eccentricitySquared } = projection.ellipsoid;
  const [lon, lat] = projection.toOwnLonLat(x, y);
  const sine = sin(lat * RADIANS);
  const w = 1 - eccentricitySquared * sine * sine;
  const primeVertical = radius / Math.sqrt(w);
  const meridian = (radius * (1 - eccentricitySquared)) / (w * Math.sqrt(w));
  const step = STEP / RADIANS;
  const [east, west] = [projection.fromOwnLonLat(lon + step, lat), projection.fromOwnLonLat(lon - step, lat)];
  const [north, south] = [projection.fromOwnLonLat(lon, lat + step), projection.fromOwnLonLat(lon, lat - step)];
  const perEast = 1 / (2 * STEP * primeVertical * cos(lat * RADIANS));
  const perNorth = 1 / (2 * STEP * meridian);
  // Grid displacement for a metre to true east (a, c) and to true north (b, d).
  const [a, c] = [(east[0] - west[0]) * perEast, (east[1] - west[1]) * perEast];
  const [b, d] = [(north[0] - south[0]) * perNorth, (north[1] - south[1]) * perNorth];
  const determinant = a * d - b * c;
  // The ground displacement whose grid displacement is one metre to grid north.
  const [groundEast, groundNorth] = [-b / determinant, a / determinant];
  return {
    gridToTrue: atan2(groundEast, groundNorth),
    pointScale: Math.sqrt(Math.abs(determinant)),
    meanRadius: Math.sqrt(primeVertical * meridian),
  };
}
