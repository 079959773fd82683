import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { inclineOf, levelIncline, lookAlong, reliefOf, type Incline, type Relief } from './relief.ts';
import type { PlanBox, SurfaceModel } from './surface-model.ts';
import { atan2, cos, sin } from '../geometry/same-math.ts';

/** Something that stands on a roof and throws shade: opaque from its top down. */
export interface Solid {
  readonly id: string;
  /** Local frame. Two corners make a thin screen. */
  readonly footprint: readonly Vector2[];
  /** Elevation of its flat top, local frame. [m] */
  readonly top: number;
}

/** What throws shade: near things as solids, everything else as a raster. */
export interface ShadeScene {
  readonly solids: readonly Solid[];
  readonly surface: SurfaceModel | null;
  /** The surface made ready for looking along it, for scenes that are used more than once. */
  readonly relief?: Relief;
}

/** Azimuths of a horizon: a quarter of a degree each, from north clockwise; value `i` stands for (i + 0.5) / 4 degrees. */
export const AZIMUTHS = 1440;
/** Azimuths at which the raster is looked along; between them the horizon is drawn straight. */
const RASTER_AZIMUTHS = 360;
/** Solids lower than this over the horizon are left out. [-] tangent of 0.3 degrees */
const LOWEST = 0.005;

const sines = new Float64Array(AZIMUTHS);
const cosines = new Float64Array(AZIMUTHS);
for (let i = 0; i < AZIMUTHS; i++) {
  const azimuth = ((i + 0.5) * 2 * Math.PI) / AZIMUTHS;
  sines[i] = sin(azimuth);
  cosines[i] = cos(azimuth);
}

const rasterSines = Float64Array.from({ length: RASTER_AZIMUTHS }, (_, i) => sin((i * 2 * Math.PI) / RASTER_AZIMUTHS));
const rasterCosines = Float64Array.from({ length: RASTER_AZIMUTHS }, (_, i) => cos((i * 2 * Math.PI) / RASTER_AZIMUTHS));

/** Azimuth number of a grid bearing. [rad] */
export const azimuthNumber = (azimuth: number): number =>
  Math.floor((((azimuth / (2 * Math.PI)) % 1) + 1) * AZIMUTHS) % AZIMUTHS;

/** Where the sun never stands the skyline only dims the sky: every so many degrees are enough there. */
const SUNLESS_STRIDE = 4;

/** Writes the horizon seen from a position into `horizon`: tangents of altitude, 0 or more. @param incline the plane the eye lies on */
export type FindHorizon = (x: number, y: number, z: number, horizon: Float32Array, incline?: Incline | null) => void;

export interface HorizonFinder {
  readonly find: FindHorizon;
  /**
   * The plane that eyes in a box lie on: horizons are found sooner, as nothing is looked for behind the plane, where the sun
   * does not shine on it. Null where there is no raster.
   */
  readonly inclineFor: (normal: Vector3, box: PlanBox) => Incline | null;
}

/**
 * Makes a finder of horizons.
 *
 * @param sunless  One for each whole degree of azimuth at which the sun never stands, else 0; there the raster is looked
 *   along at every fourth degree only. Default: the sun may stand anywhere.
 */
export function horizonFinder(scene: ShadeScene, sunless: Uint8Array | null = null): HorizonFinder {
  const relief = scene.relief ?? (scene.surface ? reliefOf(scene.surface) : null);
  const level = relief && levelIncline(relief);
  const coarse = new Float32Array(RASTER_AZIMUTHS + 1);
  const solids = scene.solids.map((solid) => ({ solid, box: boxOf(solid.footprint) }));
  return {
    inclineFor: (normal, box) => relief && inclineOf(relief, normal, box),
    find: (x, y, z, horizon, incline) => {
      if (relief) reliefHorizon(relief, incline ?? level!, x, y, z, sunless, coarse, horizon);
      else horizon.fill(0);
      for (const { solid, box } of solids) {
        if (solid.top > z && !isFar(box, x, y, solid.top - z)) addSolid(solid, x, y, z, horizon);
      }
    },
  };
}

/** Raises a horizon by one solid: each side of its footprint over the azimuths it spans, at the exact distance. */
function addSolid({ footprint, top }: Solid, x: number, y: number, z: number, horizon: Float32Array): void {
  const height = top - z;
  let turned = 0;
  for (let i = 0, j = footprint.length - 1; i < footprint.length; j = i++) {
    const ax = footprint[j]![0] - x;
    const ay = footprint[j]![1] - y;
    const bx = footprint[i]![0] - x;
    const by = footprint[i]![1] - y;
    const cross = ax * by - ay * bx;
    const sweep = atan2(cross, ax * bx + ay * by);
    turned += sweep;
    // Seen clockwise from north, the side runs from the azimuth of its end that is first on the clock.
    const first = sweep < 0 ? atan2(ax, ay) : atan2(bx, by);
    const from = Math.ceil((first / (2 * Math.PI)) * AZIMUTHS - 0.5);
    const count = Math.floor(((first + Math.abs(sweep)) / (2 * Math.PI)) * AZIMUTHS - 0.5) - from + 1;
    const ex = bx - ax;
    const ey = by - ay;
    for (let k = 0; k < count; k++) {
      const number = (((from + k) % AZIMUTHS) + AZIMUTHS) % AZIMUTHS;
      // Distance t with t (sin, cos) on the line through a and b.
      const t = cross / (sines[number]! * ey - cosines[number]! * ex);
      const tangent = t > 0 ? height / t : Infinity;
      if (tangent > horizon[number]!) horizon[number] = tangent;
    }
  }
  // Inside the footprint and below the top: no sky at all.
  if (footprint.length > 2 && Math.abs(turned) > Math.PI) horizon.fill(Infinity);
}

/** Least and greatest x and y. */
type Box = readonly [number, number, number, number];

function boxOf(footprint: readonly Vector2[]): Box {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const corner of footprint) {
    x0 = Math.min(x0, corner[0]);
    x1 = Math.max(x1, corner[0]);
    y0 = Math.min(y0, corner[1]);
    y1 = Math.max(y1, corner[1]);
  }
  return [x0, y0, x1, y1];
}

function isFar([x0, y0, x1, y1]: Box, x: number, y: number, height: number): boolean {
  const dx = Math.max(x0 - x, 0, x - x1);
  const dy = Math.max(y0 - y, 0, y - y1);
  const farthest = height / LOWEST;
  return dx * dx + dy * dy > farthest * farthest;
}

function reliefHorizon(
  relief: Relief, incline: Incline, x: number, y: number, z: number, sunless: Uint8Array | null, coarse: Float32Array, horizon: Float32Array,
): void {
  const { surface } = relief;
  const column = (x - surface.origin[0]) / surface.cellSize - 0.5;
  const row = (y - surface.origin[1]) / surface.cellSize - 0.5;
  const fine = AZIMUTHS / RASTER_AZIMUTHS;
  if (z >= relief.highest) return void horizon.fill(0);
  let looked = 0;
  for (let i = 0; i < RASTER_AZIMUTHS; i++) {
    if (sunless?.[i] === 1 && i - looked < SUNLESS_STRIDE && i > 0 && i < RASTER_AZIMUTHS - 1) continue;
    const here = lookAlong(relief, incline, column, row, z, rasterSines[i]!, rasterCosines[i]!);
    // Azimuths that were passed over lie straight between the two looks about them.
    for (let k = looked + 1; k < i; k++) coarse[k] = coarse[looked]! + ((here - coarse[looked]!) * (k - looked)) / (i - looked);
    coarse[i] = here;
    looked = i;
  }
  coarse[RASTER_AZIMUTHS] = coarse[0]!;
  for (let i = 0; i < RASTER_AZIMUTHS; i++) {
    const here = coarse[i]!;
    const step = (coarse[i + 1]! - here) / fine;
    for (let k = 0; k < fine; k++) horizon[i * fine + k] = here + step * (k + 0.5);
  }
}
