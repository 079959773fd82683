import type { Vector2 } from '../../../geometry/vector.ts';
import { meanNearMiddle, upperMedian } from '../../../geometry/order-statistic.ts';
import { cos, sin } from '../../../geometry/same-math.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { ROOF, SIDE, TOP } from './count-side.ts';
import type { MarkedPoints } from './footprint-sides.ts';
import type { PatchPoints } from './patch-points.ts';
import type { TopSample } from './roof-beneath.ts';
import type { Footprint } from './top-shape.ts';

/** Where most points of a thing's upper part lie level, or at one height above the roof. */
export interface Top {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly follows: boolean;
  readonly mean: number;
  readonly slopeX: number;
  readonly slopeY: number;
  readonly middle: Vector2;
  readonly roughness: number;
  /** Share of the raised points that belong to it. */
  readonly share: number;
}

/**
 * @param least  Points lower above the roof are none of the top. [m]
 * @returns null when no top can be made out.
 */
export function findTop(points: PatchPoints, fit: FaceFit, least: number): Top | null {
  const raised: number[] = [];
  points.rise.forEach((rise, i) => {
    if (rise > least) raised.push(i);
  });
  if (raised.length < 4) return null;
  const band = Math.max(0.02, 2.5 * fit.noise);
  const level = densest(pickedFrom(points.z, raised), band);
  const along = densest(pickedFrom(points.rise, raised), band);
  const follows = along.count > level.count;
  const values = follows ? points.rise : points.z;
  const centre = follows ? along.centre : level.centre;
  const members = raised.filter((i) => Math.abs(values[i]! - centre) <= 1.2 * band);
  if (members.length < 4) return null;
  const [x, y, z] = [pickedFrom(points.x, members), pickedFrom(points.y, members), pickedFrom(points.z, members)];
  const plane = topPlane(x, y, z, follows ? fit : null);
  return { x, y, z, follows, ...plane, share: members.length / raised.length };
}

function pickedFrom(values: Float64Array, places: readonly number[]): Float64Array {
  const picked = new Float64Array(places.length);
  for (let i = 0; i < places.length; i++) picked[i] = values[places[i]!]!;
  return picked;
}

/** Centre of the window that holds most values, higher windows winning a near tie: walls and skirts lie below a top. */
function densest(values: Float64Array, band: number): { centre: number; count: number } {
  values.sort();
  let best = { centre: values[0]!, count: 0, score: 0 };
  for (let i = 0, j = 0; i < values.length; i++) {
    while (values[i]! - values[j]! > 2 * band) j++;
    const count = i - j + 1;
    const score = count * (1 + 0.1 * (i / values.length));
    if (score > best.score) best = { centre: values[(i + j) >> 1]!, count, score };
  }
  return best;
}

/** Mean height of the top and, for a lid that follows the roof, the roof's own slope. */
function topPlane(x: Float64Array, y: Float64Array, z: Float64Array, follows: FaceFit | null): Pick<Top, 'mean' | 'slopeX' | 'slopeY' | 'middle' | 'roughness'> {
  const n = x.length;
  const [slopeX, slopeY] = follows ? [follows.slopeX, follows.slopeY] : [0, 0];
  let [mx, my, mz] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    mx += x[i]! / n;
    my += y[i]! / n;
  }
  for (let i = 0; i < n; i++) mz += (z[i]! - slopeX * (x[i]! - mx) - slopeY * (y[i]! - my)) / n;
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (z[i]! - mz - slopeX * (x[i]! - mx) - slopeY * (y[i]! - my)) ** 2;
  return { mean: mz, slopeX, slopeY, middle: [mx, my], roughness: Math.sqrt(squares / n) };
}

/** Reconstruction rounds the rim of a top off over about this much, and what walls scatter inward lies lower. [spacings, sigmas, share of the width at most] */
const ROUNDED = 1;
const WALL_SIGMAS = 1;
/** More of the walls passes for the top of glass, so less of them must be let in. [sigmas, times the roof's scatter] */
const GLASS_WALL_SIGMAS = 2.5;
const GLASS = 2;
const ROUNDED_SHARE = 0.3;
/** Points of a top farther than this from its middle are strays, walls, or things on it. [sigmas] */
const OFF_TOP_SIGMAS = 2.5;

/** Elevation of the top above a place. [m] */
export const topAbove = ([x, y]: Vector2, { mean, middle, slopeX, slopeY }: Top): number => mean + slopeX * (x - middle[0]) + slopeY * (y - middle[1]);

/** Points this near to the top or to the roof may be theirs; what lies between them stands on a side. [m, sigmas] */
const SIDE_FREE = 0.06;
const SIDE_FREE_SIGMAS = 2.5;
/** Points nearer to the roof than this are its own. [sigmas] */
const OWN_SIGMAS = 2;

/** Points about a thing, by whether they are its top's, its sides' or the roof's. */
export function markTopAndRoof({ x, y, z, rise }: PatchPoints, top: Top, offset: number, noise: number): Omit<MarkedPoints, 'isThin'> {
  const { mean, middle, slopeX, slopeY } = top;
  const kind = new Uint8Array(x.length);
  const full = new Float64Array(x.length);
  const below = new Float64Array(x.length);
  const own = new Uint8Array(x.length);
  const takenForTop = Math.max(SIDE_FREE, SIDE_FREE_SIGMAS * Math.max(noise, top.roughness));
  const takenForRoof = Math.max(SIDE_FREE, SIDE_FREE_SIGMAS * noise);
  for (let i = 0; i < x.length; i++) {
    const height = mean + slopeX * (x[i]! - middle[0]) + slopeY * (y[i]! - middle[1]) - (z[i]! - rise[i]!) - offset;
    const above = rise[i]! - offset;
    const isSide = above > Math.min(height / 2, takenForRoof) && above < height - Math.min(height / 2, takenForTop);
    kind[i] = isSide ? SIDE : above > height / 2 ? TOP : ROOF;
    full[i] = height;
    own[i] = Math.abs(above) <= OWN_SIGMAS * noise ? 1 : 0;
    below[i] = height - above;
  }
  return { x, y, kind, below, full, own, takenForTop, takenForRoof };
}

/** A thing this many sigmas high is told from roof seen below it; the noise of a lower one is its own, whatever it is. */
const SEEN_BELOW_SIGMAS = 8;
const SEEN_BELOW_SHARE = 0.4;

/** Height of a top, and the part of it that was averaged. */
export interface TopHeight extends TopSample {
  readonly height: number;
  /** How far within the footprint's sides that part ends. [m] */
  readonly inset: number;
}

/**
 * Height of the top above the middle of the footprint: mean of the points away from the rim and near their median, and how
 * much rougher than the roof they are. Glass scatters several times as much, so no band about a guess may cut its points.
 */
export function middleOfTop(points: PatchPoints, top: Top, footprint: Footprint, spacing: number, roughRise: number, fit: FaceFit): TopHeight {
  const within = (sigmas: number): TopHeight => {
    const inset = Math.min(Math.max(ROUNDED * spacing, sigmas * fit.noise), ROUNDED_SHARE * footprint.size[1]);
    return heightWithin(points, top, footprint, inset, roughRise, fit);
  };
  const first = within(WALL_SIGMAS);
  return first.roughness > GLASS ? within(GLASS_WALL_SIGMAS) : first;
}

function heightWithin({ x, y, z, rise }: PatchPoints, top: Top, footprint: Footprint, inset: number, roughRise: number, fit: FaceFit): TopHeight {
  const { centre, turn, size, round } = footprint;
  const [c, s] = [cos(turn), sin(turn)];
  const area: Footprint = { ...footprint, size: [size[0] - 2 * inset, size[1] - 2 * inset] };
  const [reachU, reachV] = [area.size[0] / 2, area.size[1] / 2];
  const least = roughRise > SEEN_BELOW_SIGMAS * fit.noise ? SEEN_BELOW_SHARE * roughRise : -Infinity;
  const heights: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const dx = x[i]! - centre[0];
    const dy = y[i]! - centre[1];
    const [u, v] = [(dx * c + dy * s) / reachU, (dy * c - dx * s) / reachV];
    if ((round ? u * u + v * v > 1 : Math.abs(u) > 1 || Math.abs(v) > 1) || rise[i]! < least) continue;
    heights.push(z[i]! - top.slopeX * dx - top.slopeY * dy);
  }
  const { follows } = top;
  if (heights.length < 4) return { height: topAbove(centre, top), points: top.z.length, roughness: 1, area: footprint, inset: 0, follows };
  const middle = upperMedian(heights);
  const scatter = 1.4826 * upperMedian(heights.map((h) => Math.abs(h - middle)));
  const roughness = Math.max(1, scatter / fit.noise);
  return { height: meanNearMiddle(heights, OFF_TOP_SIGMAS * roughness * fit.noise), points: heights.length, roughness, area, inset, follows };
}
