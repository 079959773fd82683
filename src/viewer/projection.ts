import { add, cross, dot, normalize, scale, subtract, type Vector3 } from '../geometry/vector.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';

export type ViewName = 'plan' | 'section' | 'elevation' | 'free';

/**
 * How the local frame becomes a picture. All views keep parallel lines parallel, so a length across the line of sight
 * is true to scale in each of them.
 */
export interface Projection {
  /** Unit, at right angles: rightwards, upwards, and from the scene towards the eye. */
  readonly right: Vector3;
  readonly up: Vector3;
  readonly toward: Vector3;
  /** What stands in the middle of the picture. [m] */
  readonly centre: Vector3;
  readonly pixelsPerMetre: number;
  /** Of the picture. [px] */
  readonly width: number;
  readonly height: number;
}

export interface Bounds {
  readonly min: Vector3;
  readonly max: Vector3;
}

const DEGREE = Math.PI / 180;

/** x and y in the picture [px] and height towards the eye [m]. */
export function project(view: Projection, point: Vector3): [number, number, number] {
  const from = subtract(point, view.centre);
  return [
    view.width / 2 + dot(from, view.right) * view.pixelsPerMetre,
    view.height / 2 - dot(from, view.up) * view.pixelsPerMetre,
    dot(from, view.toward),
  ];
}

/** The point at a pixel, at the depth of the picture's centre. */
export function unproject(view: Projection, x: number, y: number): Vector3 {
  const across = scale(view.right, (x - view.width / 2) / view.pixelsPerMetre);
  const above = scale(view.up, (view.height / 2 - y) / view.pixelsPerMetre);
  return add(add(view.centre, across), above);
}

export function rayAt(view: Projection, x: number, y: number): PickRay {
  return {
    origin: unproject(view, x, y),
    direction: scale(view.toward, -1),
    right: view.right,
    up: view.up,
    metresPerPixel: 1 / view.pixelsPerMetre,
  };
}

/** Directions of a view from above with true north up. */
export function planAxes(gridToTrueDeg: number): Pick<Projection, 'right' | 'up' | 'toward'> {
  const turn = gridToTrueDeg * DEGREE;
  const [s, c] = [Math.sin(turn), Math.cos(turn)];
  return { right: [c, s, 0], up: [-s, c, 0], toward: [0, 0, 1] };
}

/**
 * Directions of a view from outside.
 *
 * @param fromBearingDeg  Grid bearing from the scene to the eye. @param tiltDeg  Height of the eye above the level, 0 to 90.
 */
export function freeAxes(fromBearingDeg: number, tiltDeg: number): Pick<Projection, 'right' | 'up' | 'toward'> {
  const bearing = fromBearingDeg * DEGREE;
  const tilt = tiltDeg * DEGREE;
  const toward: Vector3 = [Math.sin(bearing) * Math.cos(tilt), Math.cos(bearing) * Math.cos(tilt), Math.sin(tilt)];
  const right: Vector3 = [-Math.cos(bearing), Math.sin(bearing), 0];
  return { right, up: cross(toward, right), toward };
}

/** Directions of a view along a level line from `from` to `to`, which runs from left to right. */
export function sectionAxes(from: Vector3, to: Vector3): Pick<Projection, 'right' | 'up' | 'toward'> {
  const right = normalize([to[0] - from[0], to[1] - from[1], 0]);
  const up: Vector3 = [0, 0, 1];
  return { right, up, toward: cross(right, up) };
}

/** Margins kept free of the drawing. [px] */
export interface Margins {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** Most of a picture that margins may take. */
const MARGIN_SHARE = 0.45;

/** Moves and scales a view so that points fill it. */
export function fitPoints(view: Projection, points: readonly Vector3[], margins: Margins): Projection {
  if (points.length === 0) return view;
  let [left, right, low, high, far, near] = [Infinity, -Infinity, Infinity, -Infinity, Infinity, -Infinity];
  for (const point of points) {
    const [x, y, z] = [dot(point, view.right), dot(point, view.up), dot(point, view.toward)];
    left = Math.min(left, x);
    right = Math.max(right, x);
    low = Math.min(low, y);
    high = Math.max(high, y);
    far = Math.min(far, z);
    near = Math.max(near, z);
  }
  // In a low picture margins give way, or nothing would be left between them.
  const less = Math.min(1, (MARGIN_SHARE * view.width) / (margins.left + margins.right), (MARGIN_SHARE * view.height) / (margins.top + margins.bottom));
  const [marginLeft, marginRight, marginTop, marginBottom] = [margins.left * less, margins.right * less, margins.top * less, margins.bottom * less];
  const roomX = view.width - marginLeft - marginRight;
  const roomY = view.height - marginTop - marginBottom;
  const pixelsPerMetre = Math.min(roomX / Math.max(right - left, 0.1), roomY / Math.max(high - low, 0.1));
  const x = (left + right) / 2 + (marginRight - marginLeft) / 2 / pixelsPerMetre;
  const y = (low + high) / 2 + (marginTop - marginBottom) / 2 / pixelsPerMetre;
  const depth = (near + far) / 2;
  const centre = add(add(scale(view.right, x), scale(view.up, y)), scale(view.toward, depth));
  return { ...view, centre, pixelsPerMetre };
}

/** Corners of a box, for fitting. */
export function boxCorners({ min, max }: Bounds): Vector3[] {
  const corners: Vector3[] = [];
  for (const x of [min[0], max[0]]) for (const y of [min[1], max[1]]) for (const z of [min[2], max[2]]) corners.push([x, y, z]);
  return corners;
}

export function panBy(view: Projection, dx: number, dy: number): Projection {
  const metresPerPixel = 1 / view.pixelsPerMetre;
  return { ...view, centre: add(add(view.centre, scale(view.right, -dx * metresPerPixel)), scale(view.up, dy * metresPerPixel)) };
}

/** Closest and widest scale: a millimetre on ten pixels, ten metres on one. [px/m] */
const SCALE_LIMITS = [0.1, 10_000] as const;

/** Zooms while the point under the pointer stays where it is. */
export function zoomAt(view: Projection, factor: number, x: number, y: number): Projection {
  const pixelsPerMetre = Math.min(SCALE_LIMITS[1], Math.max(SCALE_LIMITS[0], view.pixelsPerMetre * factor));
  const held = unproject(view, x, y);
  const moved = { ...view, pixelsPerMetre };
  const now = unproject(moved, x, y);
  return { ...moved, centre: add(view.centre, subtract(held, now)) };
}

/** CSS pixels are 96 to the inch, so a drawing at n pixels a metre stands at one to this. */
export const scaleDenominator = (pixelsPerMetre: number): number => 96 / 0.0254 / pixelsPerMetre;
