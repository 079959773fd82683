import type { Vector2 } from '../../../geometry/vector.ts';
import { selectAt } from '../../../geometry/order-statistic.ts';
import { cos, sin } from '../../../geometry/same-math.ts';

/** Footprint seen from above, as a turned rectangle or a disc. */
export interface Footprint {
  readonly centre: Vector2;
  /** Of the longer side. [rad] */
  readonly turn: number;
  /** Longer and shorter side; both the diameter of a disc. [m] */
  readonly size: Vector2;
  readonly round: boolean;
  /** One sigma of each side's length. [m] */
  readonly sigma: number;
  /** What may move all sides together, at 95 %. [m] */
  readonly common: number;
}

const ANGLES = 45;
/** Shares of positions cut off at each end before a side is measured; walls and strays are there. */
const TAIL = 0.05;

/**
 * Footprint of positions spread evenly over it. Sides come from the middle nine tenths, made longer by a ninth: unlike
 * the outermost positions they have no bias from spacing and little from what blur does at the rim.
 *
 * @param spacing  Between the positions. [m]
 */
export function footprintOf(xs: Float64Array, ys: Float64Array, spacing: number): Footprint {
  const along = new Float64Array(xs.length);
  let best = { area: Infinity, angle: 0 };
  for (let i = 0; i < ANGLES; i++) {
    const angle = (i * Math.PI) / 2 / ANGLES;
    const area = extent(xs, ys, angle, 0.02, along).size * extent(xs, ys, angle + Math.PI / 2, 0.02, along).size;
    if (area < best.area) best = { area, angle };
  }
  const u = extent(xs, ys, best.angle, TAIL, along);
  const v = extent(xs, ys, best.angle + Math.PI / 2, TAIL, along);
  const [c, s] = [cos(best.angle), sin(best.angle)];
  const centre: Vector2 = [u.middle * c - v.middle * s, u.middle * s + v.middle * c];
  const longer = u.size >= v.size;
  const n = xs.length;
  const sigma = Math.max(u.size, v.size) * Math.sqrt((2 * TAIL) / Math.max(4, n)) + 0.15 * spacing;
  if (isRound(xs, ys, centre, best.angle, u.size, v.size)) {
    const diameter = 2 * (deviation(xs) + deviation(ys));
    return { centre: [mean(xs), mean(ys)], turn: 0, size: [diameter, diameter], round: true, sigma, common: sigma };
  }
  return {
    centre,
    turn: longer ? best.angle : best.angle + Math.PI / 2,
    size: longer ? [u.size, v.size] : [v.size, u.size],
    round: false,
    sigma,
    common: sigma,
  };
}

function extent(xs: Float64Array, ys: Float64Array, angle: number, tail: number, along: Float64Array): { middle: number; size: number } {
  const [c, s] = [cos(angle), sin(angle)];
  for (let i = 0; i < xs.length; i++) along[i] = xs[i]! * c + ys[i]! * s;
  const [low, high] = [valueAt(along, tail), valueAt(along, 1 - tail)];
  return { middle: (low + high) / 2, size: (high - low) / (1 - 2 * tail) };
}

/** Value below which a share of all lies, between two of them. Changes their order. */
function valueAt(values: Float64Array, share: number): number {
  const place = share * (values.length - 1);
  const i = Math.floor(place);
  const value = selectAt(values, i);
  if (i + 1 >= values.length) return value;
  let next = values[i + 1]!;
  for (let j = i + 2; j < values.length; j++) if (values[j]! < next) next = values[j]!;
  return value + (place - i) * (next - value);
}

/** A disc leaves the corners of its square empty; 4 corners of a rectangle hold a ninth of the positions, of a disc none. */
function isRound(xs: Float64Array, ys: Float64Array, centre: Vector2, angle: number, width: number, depth: number): boolean {
  if (xs.length < 25 || Math.max(width, depth) > 1.3 * Math.min(width, depth)) return false;
  const [c, s] = [cos(angle), sin(angle)];
  // A disc's middle nine tenths reach 0.805 of its radius, so its measured side is 0.895 of the diameter.
  const radius = (width + depth) / 4;
  let corners = 0;
  for (let i = 0; i < xs.length; i++) {
    const [dx, dy] = [xs[i]! - centre[0], ys[i]! - centre[1]];
    const [u, v] = [Math.abs(dx * c + dy * s), Math.abs(dy * c - dx * s)];
    if (u > (2 / 3) * radius * 1.08 && v > (2 / 3) * radius * 1.08) corners++;
  }
  return corners < 0.045 * xs.length;
}

const mean = (values: Float64Array): number => values.reduce((a, b) => a + b, 0) / values.length;

function deviation(values: Float64Array): number {
  const m = mean(values);
  return Math.sqrt(values.reduce((sum, v) => sum + (v - m) ** 2, 0) / values.length);
}

const DISC_CORNERS = 24;

/** Corners of a footprint, counter-clockwise; a disc as a polygon of its own area. */
export function footprintCorners({ centre, turn, size, round }: Footprint): Vector2[] {
  if (round) {
    const step = (2 * Math.PI) / DISC_CORNERS;
    const reach = (size[0] / 2) * Math.sqrt(step / sin(step));
    return Array.from({ length: DISC_CORNERS }, (_, i) => [centre[0] + reach * cos(i * step), centre[1] + reach * sin(i * step)]);
  }
  const [c, s] = [cos(turn), sin(turn)];
  const [a, b] = [size[0] / 2, size[1] / 2];
  return ([[-a, -b], [a, -b], [a, b], [-a, b]] as const).map(([u, v]): Vector2 => [centre[0] + u * c - v * s, centre[1] + u * s + v * c]);
}

export const footprintArea = ({ size, round }: Footprint): number => (round ? (Math.PI / 4) * size[0] * size[1] : size[0] * size[1]);
