import type { Vector2 } from '../../../geometry/vector.ts';
import type { Footprint } from './top-shape.ts';
import { cos, log, sin } from '../../../geometry/same-math.ts';

/** Points on a thing's top, marked 1, and on the roof around it, marked 0. */
export interface MarkedPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly up: Uint8Array;
}

/** How far beyond the rough side the roof is looked at. [spacings, share of the half width, m at least] */
const REACH_SPACINGS = 5;
const REACH_SHARE = 0.3;
const LEAST_REACH = 0.08;
/** Corners are left out of a side's count: they round off. */
const SIDE_SHARE = 0.85;
/** Shares of top points on the two sides of a border that differ by less do not show where it is. */
const LEAST_CONTRAST = 0.7;
/**
 * What walls may add to a rough side, one sigma [share]; a side that shows no border as far as it was looked for may lie
 * anywhere there, one sigma as a share of that reach.
 */
const ROUGH_SHARE = 0.08;
const UNSEEN_SHARE = 0.6;
const FEWEST = 8;
/** Scatter of the likeliest border, in mean distances between points across it. */
const BORDER_SCATTER = 1.3;
/** Lateral scatter that no count of points removes: rounding, and what stands on the border itself. [spacings] */
const BORDER_BLUR = 0.15;

/**
 * Moves the sides of a rough footprint to where points of the top give way to points of the roof: likeliest border between
 * two shares (change point of a Bernoulli sequence, Hinkley 1970, Biometrika 57:1). Quantiles of the top's own points are
 * drawn out by what its walls add at the rim.
 */
export function refineFootprint(rough: Footprint, points: MarkedPoints, spacing: number): Footprint {
  return rough.round ? refinedDisc(rough, points, spacing) : refinedRectangle(refinedRectangle(rough, points, spacing), points, spacing);
}

function refinedRectangle(rough: Footprint, { x, y, up }: MarkedPoints, spacing: number): Footprint {
  const { centre, turn, size } = rough;
  const [c, s] = [cos(turn), sin(turn)];
  const half = [size[0] / 2, size[1] / 2] as const;
  const sides: Border[] = [];
  for (const [axis, sign] of [[0, 1], [0, -1], [1, 1], [1, -1]] as const) {
    const reach = reachOf(half[axis], spacing);
    const away: number[] = [];
    const marks: number[] = [];
    for (let i = 0; i < x.length; i++) {
      const dx = x[i]! - centre[0];
      const dy = y[i]! - centre[1];
      const u = dx * c + dy * s;
      const v = dy * c - dx * s;
      if (Math.abs(axis === 0 ? v : u) > SIDE_SHARE * half[1 - axis]!) continue;
      const d = sign * (axis === 0 ? u : v);
      if (d < 0 || d > half[axis] + reach) continue;
      away.push(d);
      marks.push(up[i]!);
    }
    sides.push(borderOf(away, marks, half[axis], reach) ?? { at: half[axis], sigma: Math.max(rough.sigma / Math.SQRT2, ROUGH_SHARE * half[axis], UNSEEN_SHARE * reach) });
  }
  const [right, left, top, bottom] = sides as [Border, Border, Border, Border];
  const [u, v] = [(right.at - left.at) / 2, (top.at - bottom.at) / 2];
  const middle: Vector2 = [centre[0] + u * c - v * s, centre[1] + u * s + v * c];
  const sigma = Math.hypot(Math.max(Math.hypot(right.sigma, left.sigma), Math.hypot(top.sigma, bottom.sigma)), BORDER_BLUR * spacing);
  const [a, b] = [right.at + left.at, top.at + bottom.at];
  return a >= b
    ? { centre: middle, turn, size: [a, b], round: false, sigma }
    : { centre: middle, turn: turn + Math.PI / 2, size: [b, a], round: false, sigma };
}

function refinedDisc(rough: Footprint, { x, y, up }: MarkedPoints, spacing: number): Footprint {
  const radius = rough.size[0] / 2;
  const reach = reachOf(radius, spacing);
  const away: number[] = [];
  const marks: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const d = Math.hypot(x[i]! - rough.centre[0], y[i]! - rough.centre[1]);
    if (d > radius + reach) continue;
    away.push(d);
    marks.push(up[i]!);
  }
  const border = borderOf(away, marks, radius, reach);
  if (!border) return { ...rough, sigma: Math.max(rough.sigma, 2 * ROUGH_SHARE * radius, 2 * UNSEEN_SHARE * reach) };
  return { ...rough, size: [2 * border.at, 2 * border.at], sigma: 2 * Math.hypot(border.sigma, BORDER_BLUR * spacing) };
}

const reachOf = (half: number, spacing: number): number => Math.max(LEAST_REACH, REACH_SPACINGS * spacing, REACH_SHARE * half);

interface Border {
  readonly at: number;
  readonly sigma: number;
}

/** @returns null where too few points, or too little difference between inside and outside, show no border. */
function borderOf(away: readonly number[], marks: readonly number[], half: number, reach: number): Border | null {
  const least = Math.min(0.5 * half, half - 0.5 * reach);
  const inside = shareUp(away, marks, 0, Math.max(0.6 * half, least));
  const outside = shareUp(away, marks, half + 0.4 * reach, Infinity);
  if (inside.count < FEWEST / 2 || outside.count < FEWEST / 2 || inside.share - outside.share < LEAST_CONTRAST) return null;
  const gainUp = log(inside.share / outside.share);
  const gainDown = log((1 - inside.share) / (1 - outside.share));
  const order = away.map((_, i) => i).sort((a, b) => away[a]! - away[b]!);
  let [sum, best, at] = [0, -Infinity, half];
  let counted = 0;
  for (let j = 0; j + 1 < order.length; j++) {
    const i = order[j]!;
    sum += marks[i] ? gainUp : gainDown;
    if (away[i]! < Math.max(0, least)) continue;
    counted++;
    if (sum <= best) continue;
    best = sum;
    at = (away[i]! + away[order[j + 1]!]!) / 2;
  }
  if (counted < FEWEST) return null;
  const perMetre = counted / (half + reach - Math.max(0, least));
  return { at, sigma: BORDER_SCATTER / perMetre / (inside.share - outside.share) ** 2 };
}

function shareUp(away: readonly number[], marks: readonly number[], from: number, to: number): { share: number; count: number } {
  let [count, up] = [0, 0];
  away.forEach((d, i) => {
    if (d < from || d > to) return;
    count++;
    up += marks[i]!;
  });
  // Half a point each way keeps logarithms finite.
  return { share: (up + 0.5) / (count + 1), count };
}
