import type { Vector2 } from '../../../geometry/vector.ts';
import type { Correlation } from '../faces/residual-correlation.ts';
import { countSide, SIDE, TOP, type AcrossSide, type Side, type SideShape } from './count-side.ts';
import { roofEnds, ROOF_SEEN } from './roof-ends.ts';
import type { Footprint } from './top-shape.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import { cos, log, sin } from '../../../geometry/same-math.ts';

/** Points on a thing's top, on its sides, and on the roof around it. */
export interface MarkedPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** ROOF, TOP or SIDE. */
  readonly kind: Uint8Array;
  /** Below the top, and height of the thing above the roof there. [m] */
  readonly below: Float64Array;
  readonly full: Float64Array;
  /** Heights at the top and at the foot of a side whose points pass for top and roof. [m] */
  readonly takenForTop: number;
  readonly takenForRoof: number;
  /** Non-zero where a point lies as near to the roof as its own. */
  readonly own: Uint8Array;
  /** Its points are few and scatter, as those of glass: the roof about it tells better where it ends. */
  readonly isThin: boolean;
}

/** Scatter of the cloud about a thing. */
export interface Scatter {
  readonly spacing: number;
  /** [m] */
  readonly noise: number;
  readonly correlation: Correlation;
}

/** How far beyond the rough side the roof is looked at. [spacings, share of the half width, m at least] */
const REACH_SPACINGS = 5;
const REACH_SHARE = 0.3;
const LEAST_REACH = 0.08;
/** Corners are left out of a side's count: they round off. */
const SIDE_SHARE = 0.85;
/** Shares of top points on the two sides of a border that differ by less do not show where it is. */
const LEAST_CONTRAST = 0.4;
/**
 * What walls may add to a rough side, one sigma [share]; a side that shows no border as far as it was looked for may lie
 * anywhere there, one sigma as a share of that reach.
 */
const ROUGH_SHARE = 0.08;
const UNSEEN_SHARE = 0.6;
/** What rounding may move all sides of a footprint by together, at 95 %. [spacings, and m at least: common practice, no source] */
const EDGE_BIAS = 0.3;
const LEAST_EDGE_BIAS = 0.01;
/** Walls scatter sideways as roofs do upward; what that may move all sides by together, at 95 %. [share of the noise] */
const EDGE_NOISE = 0.6;
/** Where sides are count-equivalent no rounding moves them. [spacings, and m at least: common practice, no source] */
const COUNTED_BIAS = 0.1;
const LEAST_COUNTED_BIAS = 0.002;
const FEWEST = 8;
/** Scatter of the likeliest border, in mean distances between points across it. */
const BORDER_SCATTER = 1.3;
/** Scatter of a border that no number of points removes: rounding, and what stands on the border itself. [spacings] */
const BORDER_BLUR = 0.1;

/**
 * Moves the sides of a rough footprint to where the thing ends. Quantiles of the top's own points are drawn out by what its
 * walls add at the rim. Tall things are counted (`countSide`); where that cannot be done, to where points of the top give way
 * to points of the roof: likeliest border between two shares (change point of a Bernoulli sequence, Hinkley 1970, Biometrika
 * 57:1).
 */
export function refineFootprint(rough: Footprint, points: MarkedPoints, scatter: Scatter): Footprint {
  // Cells do not tell a disc from a rectangle.
  if (rough.round && !points.isThin) return refinedDisc(rough, points, scatter);
  let footprint: Footprint = { ...rough, round: false };
  for (let round = 0; round < (points.isThin ? THIN_ROUNDS : ROUNDS); round++) footprint = refinedRectangle(footprint, points, scatter);
  return footprint;
}

const ROUNDS = 2;
const THIN_ROUNDS = 5;

function refinedRectangle(rough: Footprint, points: MarkedPoints, scatter: Scatter): Footprint {
  const { x, y } = points;
  const { spacing } = scatter;
  const { centre, turn, size } = rough;
  const [c, s] = [cos(turn), sin(turn)];
  const half = [size[0] / 2, size[1] / 2] as const;
  const sides: Border[] = [];
  for (const [axis, sign] of [[0, 1], [0, -1], [1, 1], [1, -1]] as const) {
    const reach = reachOf(half[axis], spacing);
    const across = noPoints();
    for (let i = 0; i < x.length; i++) {
      const dx = x[i]! - centre[0];
      const dy = y[i]! - centre[1];
      const u = dx * c + dy * s;
      const v = dy * c - dx * s;
      if (Math.abs(axis === 0 ? v : u) > SIDE_SHARE * half[1 - axis]!) continue;
      const d = sign * (axis === 0 ? u : v);
      if (Math.abs(d) > half[axis] + ROOF_SEEN * reach) continue;
      addPoint(across, d, points, i);
    }
    const length = 2 * SIDE_SHARE * half[1 - axis]!;
    const border = sideOf(across, { about: half[axis], opposite: half[axis], length, round: false, ...scatter, takenForTop: points.takenForTop, takenForRoof: points.takenForRoof, isThin: points.isThin }, reach);
    sides.push(border ?? { at: half[axis], sigma: Math.max(rough.sigma / Math.SQRT2, ROUGH_SHARE * half[axis], UNSEEN_SHARE * reach), common: commonEdge(scatter) });
  }
  const [right, left, top, bottom] = sides as [Border, Border, Border, Border];
  const [u, v] = [(right.at - left.at) / 2, (top.at - bottom.at) / 2];
  const middle: Vector2 = [centre[0] + u * c - v * s, centre[1] + u * s + v * c];
  const sigma = Math.hypot(right.sigma, left.sigma, top.sigma, bottom.sigma) / Math.SQRT2;
  const [a, b] = [right.at + left.at, top.at + bottom.at];
  const known = { centre: middle, round: false, sigma, common: Math.max(...sides.map(({ common }) => common)) };
  return a >= b ? { ...known, turn, size: [a, b] } : { ...known, turn: turn + Math.PI / 2, size: [b, a] };
}

function refinedDisc(rough: Footprint, points: MarkedPoints, scatter: Scatter): Footprint {
  const { x, y } = points;
  const radius = rough.size[0] / 2;
  const reach = reachOf(radius, scatter.spacing);
  const across = noPoints();
  for (let i = 0; i < x.length; i++) {
    const d = Math.hypot(x[i]! - rough.centre[0], y[i]! - rough.centre[1]);
    if (d > radius + ROOF_SEEN * reach) continue;
    addPoint(across, d, points, i);
  }
  const border = sideOf(across, { about: radius, opposite: 0, length: 2 * Math.PI * radius, round: true, ...scatter, takenForTop: points.takenForTop, takenForRoof: points.takenForRoof, isThin: points.isThin }, reach);
  if (!border) return { ...rough, sigma: Math.max(rough.sigma, 2 * ROUGH_SHARE * radius, 2 * UNSEEN_SHARE * reach), common: commonEdge(scatter) };
  return { ...rough, size: [2 * border.at, 2 * border.at], sigma: 2 * border.sigma, common: border.common };
}

interface Across extends AcrossSide {
  readonly away: number[];
  readonly kind: number[];
  readonly below: number[];
  readonly full: number[];
  /** Of the roof's own points alone. */
  readonly own: number[];
}

const noPoints = (): Across => ({ away: [], kind: [], below: [], full: [], own: [] });

function addPoint(to: Across, away: number, { kind, below, full, own }: MarkedPoints, i: number): void {
  to.away.push(away);
  to.kind.push(kind[i]!);
  to.below.push(below[i]!);
  to.full.push(full[i]!);
  if (own[i]) to.own.push(away);
}

function sideOf(across: Across, shape: SideShape & Pick<MarkedPoints, 'isThin'>, reach: number): Border | null {
  const counted = countSide(across, shape);
  if (counted) return { ...counted, common: Math.max(LEAST_COUNTED_BIAS, COUNTED_BIAS * shape.spacing) };
  const end = shape.isThin && !shape.round ? roofEnds(across.own, shape.about, reach) : null;
  if (!end) {
    const border = givesWay(across, shape.about, reach);
    return border && { at: border.at, sigma: Math.hypot(border.sigma, BORDER_BLUR * shape.spacing), common: commonEdge(shape) };
  }
  // The foot of a side scatters over the border and passes for roof.
  return { at: end.at, sigma: Math.hypot(end.sigma, BORDER_BLUR * shape.spacing), common: Math.hypot(commonEdge(shape), SIGMAS_95 * shape.noise) };
}

/** What may move all sides together where rounding of the rim and the foot shows. [m], 95 % */
const commonEdge = ({ spacing, noise }: Pick<Scatter, 'spacing' | 'noise'>): number => Math.hypot(Math.max(LEAST_EDGE_BIAS, EDGE_BIAS * spacing), EDGE_NOISE * noise);

/** Where points of the top give way to points of the roof. */
function givesWay({ away, kind }: Across, about: number, reach: number): Side | null {
  const wanted: number[] = [];
  const marks: number[] = [];
  away.forEach((d, i) => {
    if (d < 0 || d > about + reach || kind[i] === SIDE) return;
    wanted.push(d);
    marks.push(kind[i] === TOP ? 1 : 0);
  });
  return borderOf(wanted, marks, about, reach);
}

const reachOf = (half: number, spacing: number): number => Math.max(LEAST_REACH, REACH_SPACINGS * spacing, REACH_SHARE * half);

interface Border extends Side {
  /** What may move all sides so found together. [m], 95 % */
  readonly common: number;
}

/** @returns null where too few points, or too little difference between inside and outside, show no border. */
function borderOf(away: readonly number[], marks: readonly number[], half: number, reach: number): Side | null {
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
