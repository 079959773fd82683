import { traceLabelArcs } from '../../../geometry/label-arcs.ts';
import type { Minimum } from '../../../geometry/persistent-minima.ts';
import { signedPlanArea } from '../../../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../../../geometry/vector.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import type { Pond } from '../../../roof/record.ts';
import { measured } from '../../../units/measured.ts';
import type { DeckHeights } from './deck-heights.ts';

/** Corners nearer than this to the line between their neighbours are left out. [cells] */
const STRAIGHT = 0.75;

/**
 * The part of a hollow that would be under water before it spills: where it is shown to stand, not how long. The dry roof
 * was measured; under water it bends further.
 *
 * @param sigma  Of a smoothed height. [m]
 * @returns null where nothing of the hollow lies below its pass.
 */
export function pondOf({ cell, persistence, members }: Minimum, heights: Float64Array, deck: DeckHeights, sigma: number): Pond | null {
  const pass = heights[cell]! + persistence;
  const under = (level: number): number => members.reduce((n, k) => n + (heights[k]! <= level ? 1 : 0), 0) * deck.step ** 2;
  const ring = largestRing(members.filter((k) => heights[k]! <= pass), deck.columns);
  if (!ring) return null;
  const thinned = withoutStraight(ring, STRAIGHT);
  // A single cell has no corner that far off its diagonal.
  const corners = (thinned.length < 3 ? ring : thinned).map(([x, y]): Vector3 => [deck.origin[0] + x * deck.step, deck.origin[1] + y * deck.step, pass]);
  // Bottom and pass wander apart by the noise of both.
  const off = SIGMAS_95 * Math.SQRT2 * sigma;
  return { outline: corners, planAreaM2: measured(under(pass), [{ name: 'noise', u95: (under(pass + off) - under(pass - off)) / 2 + deck.step * Math.sqrt(under(pass)) }]) };
}

/** Outer boundary of the largest patch of some cells of a raster, counter-clockwise, in cells. */
function largestRing(cells: readonly number[], columns: number): Vector2[] | null {
  if (cells.length === 0) return null;
  const xs = cells.map((k) => k % columns);
  const ys = cells.map((k) => Math.floor(k / columns));
  const lowest = (values: readonly number[]): number => values.reduce((least, value) => Math.min(least, value), Infinity);
  const highest = (values: readonly number[]): number => values.reduce((most, value) => Math.max(most, value), -Infinity);
  // A cell left free all round.
  const [left, bottom] = [lowest(xs) - 1, lowest(ys) - 1];
  const [width, height] = [highest(xs) - left + 2, highest(ys) - bottom + 2];
  const labels = new Uint16Array(width * height);
  cells.forEach((_, i) => (labels[(ys[i]! - bottom) * width + xs[i]! - left] = 1));
  const { arcs, rings } = traceLabelArcs(labels, width, height);
  let best: Vector2[] | null = null;
  for (const { label, arcs: parts } of rings) {
    if (label !== 1) continue;
    const corners: Vector2[] = [];
    for (const { arc, forward } of parts) {
      const { path } = arcs[arc]!;
      const own = Array.from({ length: path.length / 2 }, (_, i): Vector2 => [path[2 * i]! + left, path[2 * i + 1]! + bottom]);
      corners.push(...(forward ? own : own.reverse()).slice(0, -1));
    }
    if (!best || signedPlanArea(corners) > signedPlanArea(best)) best = corners;
  }
  return best && signedPlanArea(best) > 0 ? best : null;
}

/** Corners of a closed ring that lie off the chords of the others (Douglas and Peucker 1973), from its two farthest corners. */
function withoutStraight(ring: readonly Vector2[], tolerance: number): Vector2[] {
  const farthest = (from: Vector2): number => ring.reduce((best, p, i) => (away(p, from) > away(ring[best]!, from) ? i : best), 0);
  const a = farthest(ring[0]!);
  const turned = [...ring.slice(a), ...ring.slice(0, a)];
  const b = turned.reduce((best, p, i) => (away(p, turned[0]!) > away(turned[best]!, turned[0]!) ? i : best), 0);
  return [...keptOf(turned.slice(0, b + 1), tolerance), ...keptOf([...turned.slice(b), turned[0]!], tolerance)];
}

const away = (p: Vector2, q: Vector2): number => Math.hypot(p[0] - q[0], p[1] - q[1]);

/** Kept corners of a path, its last one left out. */
function keptOf(path: readonly Vector2[], tolerance: number): Vector2[] {
  const kept = new Set([0]);
  const stack: [number, number][] = [[0, path.length - 1]];
  while (stack.length > 0) {
    const [from, to] = stack.pop()!;
    const [p, q] = [path[from]!, path[to]!];
    const size = away(p, q);
    let [far, at] = [tolerance, -1];
    for (let i = from + 1; i < to; i++) {
      const r = path[i]!;
      const off = size > 0 ? Math.abs((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])) / size : away(p, r);
      if (off > far) [far, at] = [off, i];
    }
    if (at < 0) continue;
    kept.add(at);
    stack.push([from, at], [at, to]);
  }
  return [...kept].sort((i, j) => i - j).map((i) => path[i]!);
}
