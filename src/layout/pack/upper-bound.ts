import { regionParts, type Region } from '../../geometry/region.ts';
import { freeIntervalFinder, rimPieces, type RimPieces } from './free-intervals.ts';
import type { PackProblem } from './pack-types.ts';

/** Lattices are tried at so many even offsets along either axis, and with a line just before and just behind the ground. */
const EVEN_OFFSETS = 4;
/** Spacings tried are a shape's sides over 1 to this. */
const FINEST = 4;
const MOST_LATTICES = 3;
/** A lattice is worth a look when its points stand for at least this share of a shape's area. [-] */
const LEAST_SHARE = 0.9;
/** Ground is taken this much larger, so that rounding never takes a point away that a shape may hold. [m] */
const SLACK = 1e-3;
/** A line this far outside touches nothing. [m] */
const HAIR = 1e-6;
/** Steps in which reachable ground is looked for. [m] Finer ones find the same bound. */
const LADDER = 0.05;
const MOST_STEPS = 400;

/** Points at even distances; every shape, wherever it stands, holds at least so many a module. */
interface Lattice {
  readonly stepX: number;
  readonly stepY: number;
  readonly pointsPerModule: number;
}

/**
 * A count no layout square to the rows can exceed. A rectangle with its gap, wherever it stands, holds at least the whole
 * part of its width over the spacing, times that of its height, of the points of a lattice; rectangles share no point; so
 * the points on ground that some rectangle can reach, over that number, bound the count, for every lattice and every
 * offset (a relaxation by a feasible dual: weights on points of which every place holds one at least; Dantzig-Wolfe and
 * weak duality as in any text on linear programming). The least over the lattices tried, part by part.
 */
export function moduleUpperBound(problem: PackProblem): number {
  const lattices = latticesOf(problem);
  return regionParts(problem.region).reduce((sum, part) => sum + boundOfPart(part, problem, lattices), 0);
}

function boundOfPart(part: Region, problem: PackProblem, lattices: readonly Lattice[]): number {
  const reach = reachableGround(part, problem);
  let least = Infinity;
  for (const lattice of lattices) {
    for (const first of firstLines(reach.bottom, reach.top, lattice.stepY)) {
      for (const points of pointsByOffset(reach, lattice, first)) least = Math.min(least, Math.floor(points / lattice.pointsPerModule + 1e-9));
    }
  }
  return least;
}

function latticesOf({ shapes, gapX, gapY }: PackProblem): Lattice[] {
  const sizes = shapes.map(({ width, height, modules }) => ({ width: width + gapX, height: height + gapY, modules }));
  const steps = (side: (one: (typeof sizes)[number]) => number): number[] =>
    [...new Set(sizes.flatMap((one) => Array.from({ length: FINEST }, (_, k) => side(one) / (k + 1))))];
  const areaPerModule = Math.min(...sizes.map(({ width, height, modules }) => (width * height) / modules));
  const lattices: Lattice[] = [];
  for (const stepX of steps(({ width }) => width)) {
    for (const stepY of steps(({ height }) => height)) {
      const pointsPerModule = Math.min(...sizes.map(({ width, height, modules }) => (Math.floor(width / stepX + 1e-9) * Math.floor(height / stepY + 1e-9)) / modules));
      if (pointsPerModule * stepX * stepY >= LEAST_SHARE * areaPerModule) lattices.push({ stepX, stepY, pointsPerModule });
    }
  }
  // Coarse ones see best how a narrow part leaves ends over.
  return lattices.sort((a, b) => b.stepX * b.stepY - a.stepX * a.stepY || b.stepX - a.stepX).slice(0, MOST_LATTICES);
}

/** Ground that rectangles with their gaps may cover: level bands with stretches along them. */
interface ReachableGround {
  readonly bands: readonly { readonly bottom: number; readonly top: number; readonly from: Float64Array; readonly to: Float64Array }[];
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly top: number;
}

/**
 * No less than all ground that some place of a rectangle covers: a rectangle that starts between two steps of a ladder
 * holds the box from the upper step to its top, so where that box is free, and no further, such rectangles may stand.
 */
function reachableGround(part: Region, { shapes, gapX, gapY }: PackProblem): ReachableGround {
  const rim = rimPieces(part);
  const find = freeIntervalFinder(rim);
  const [low, high] = extent(rim, 1);
  const ladder = Math.max(LADDER, (high - low) / MOST_STEPS);
  const bands: ReachableGround['bands'][number][] = [];
  for (const { width, height } of shapes) {
    for (let y = low - ladder; y + height <= high + ladder; y += ladder) {
      const { found, count } = find(y + ladder + SLACK, y + height - SLACK, width - SLACK);
      if (count === 0) continue;
      const stretches = Array.from({ length: count / 2 }, (_, k) => [found[2 * k]! - gapX / 2 - SLACK, found[2 * k + 1]! + gapX / 2 + SLACK] as const);
      bands.push({
        bottom: Math.max(low, y) - gapY / 2 - SLACK, top: Math.min(high, y + ladder + height) + gapY / 2 + SLACK,
        from: Float64Array.from(stretches, ([from]) => from), to: Float64Array.from(stretches, ([, to]) => to),
      });
    }
  }
  const least = (pick: (band: (typeof bands)[number]) => number): number => bands.reduce((sum, band) => Math.min(sum, pick(band)), Infinity);
  return {
    bands, left: least(({ from }) => from[0]!), right: -least(({ to }) => -to.at(-1)!), bottom: least(({ bottom }) => bottom), top: -least(({ top }) => -top),
  };
}

/** First lines of a lattice from the near end of some ground on, one for each offset tried. */
function firstLines(near: number, far: number, step: number): number[] {
  const justBehind = far + HAIR - Math.ceil((far + HAIR - near) / step) * step + step;
  return [...Array.from({ length: EVEN_OFFSETS }, (_, i) => near + (i / EVEN_OFFSETS) * step), near - HAIR + step, justBehind];
}

/** Points of a lattice on reachable ground with one first line across, for each first line along that is tried. */
function pointsByOffset({ bands, left, right, top }: ReachableGround, { stepX, stepY }: Lattice, firstY: number): Float64Array {
  const origins = firstLines(left, right, stepX);
  const counts = new Float64Array(origins.length);
  for (let y = firstY; y <= top; y += stepY) {
    for (const [from, to] of joined(bands.filter((band) => y >= band.bottom && y <= band.top))) {
      for (let o = 0; o < origins.length; o++) counts[o]! += Math.floor((to - origins[o]!) / stepX) - Math.ceil((from - origins[o]!) / stepX) + 1;
    }
  }
  return counts;
}

/** Stretches of several bands as stretches that lie apart. */
function joined(bands: ReachableGround['bands']): [number, number][] {
  const all = bands.flatMap(({ from, to }) => Array.from(from, (start, k): [number, number] => [start, to[k]!])).sort((a, b) => a[0] - b[0]);
  const apart: [number, number][] = [];
  for (const [from, to] of all) {
    const last = apart.at(-1);
    if (last && from <= last[1]) last[1] = Math.max(last[1], to);
    else apart.push([from, to]);
  }
  return apart;
}

function extent(rim: RimPieces, axis: 0 | 1): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (let i = axis; i < rim.length; i += 2) {
    low = Math.min(low, rim[i]!);
    high = Math.max(high, rim[i]!);
  }
  return [low, high];
}
