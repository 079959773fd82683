import type { Bounds3 } from '../io/survey-file.ts';
import { joinSquares, squareKey, squareOfKey, type PlanSquares } from './plan-squares.ts';

/** Side of the squares in which points are counted. [source unit] */
export const SITE_SQUARE = 64;
/** Squares this many apart still belong to one place: 200 units of water or fields between two houses. */
const REACH = 3;
/** A place is kept when it holds this share of all points, or this many. Strays of a reconstruction are fewer. */
const LEAST_SHARE = 1 / 200;
const LEAST_POINTS = 2000;

/** Where the points of a survey lie. */
export interface Site {
  /** Of the places kept; source unit. */
  readonly bounds: Bounds3;
  /** How many places were kept. */
  readonly places: number;
  /** Points outside the bounds, in plan. */
  readonly strays: number;
}

/** Wider than this, or emptier, bounds are doubted before memory is laid out by them. [square units], [square units a point] */
const LARGE = 1e6;
const HUGE = 1e7;
const EMPTY = 1;

/** Whether a few stray points, or wrong bounds in a header, may have made a site look larger than it is. */
export const isDoubtful = (area: number, pointCount: number): boolean => area > HUGE || (area > LARGE && area > EMPTY * pointCount);

/**
 * Finds the places where points lie close together. A reconstruction may hold a handful of points kilometres off, by which
 * neither a raster nor the middle of the site must be laid out.
 *
 * @param counted  Squares of all parts, in any order.
 * @returns null when points lie so evenly thin that none are strays.
 */
export function findSite(counted: readonly PlanSquares[]): Site | null {
  const squares = joinSquares(counted);
  const total = squares.counts.reduce((sum, count) => sum + count, 0);
  const least = Math.min(LEAST_POINTS, total * LEAST_SHARE);
  const places = placesOf(squares).filter((place) => place.reduce((sum, k) => sum + squares.counts[k]!, 0) >= least);
  if (places.length === 0) return null;
  const bounds = boundsOfSquares(squares, places.flat());
  return { bounds, places: places.length, strays: countOutside(squares, bounds) };
}

/** Squares that hang together, each place as indices. */
function placesOf({ keys }: PlanSquares): number[][] {
  const indexOf = new Map(Array.from(keys, (key, k) => [key, k]));
  const seen = new Uint8Array(keys.length);
  const places: number[][] = [];
  for (let start = 0; start < keys.length; start++) {
    if (seen[start]) continue;
    seen[start] = 1;
    const place = [start];
    for (const k of place) {
      const [column, row] = squareOfKey(keys[k]!);
      for (let dx = -REACH; dx <= REACH; dx++) {
        for (let dy = -REACH; dy <= REACH; dy++) {
          const beside = indexOf.get(squareKey(column + dx, row + dy));
          if (beside === undefined || seen[beside]) continue;
          seen[beside] = 1;
          place.push(beside);
        }
      }
    }
    places.push(place);
  }
  return places;
}

function boundsOfSquares({ lowest, highest }: PlanSquares, indices: readonly number[]): Bounds3 {
  const min: [number, number, number] = [Infinity, Infinity, Infinity];
  const max: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (const k of indices) {
    for (let axis = 0; axis < 3; axis++) {
      min[axis] = Math.min(min[axis]!, lowest[3 * k + axis]!);
      max[axis] = Math.max(max[axis]!, highest[3 * k + axis]!);
    }
  }
  return { min, max };
}

/** Points of squares that lie outside as a whole. */
function countOutside({ counts, lowest, highest }: PlanSquares, { min, max }: Bounds3): number {
  let outside = 0;
  counts.forEach((count, k) => {
    if ([0, 1].some((axis) => lowest[3 * k + axis]! > max[axis]! || highest[3 * k + axis]! < min[axis]!)) outside += count;
  });
  return outside;
}
