import type { Vector2 } from './vector.ts';
import { atan2, cos, sin } from './same-math.ts';

/** Straight line in plan: a position on it and a unit direction. */
export interface PlanLine {
  readonly at: Vector2;
  readonly direction: Vector2;
}

/** Signed distance of a position, positive on the left of the direction. */
export const besideLine = ({ at, direction }: PlanLine, [x, y]: Vector2): number =>
  (y - at[1]) * direction[0] - (x - at[0]) * direction[1];

/** Distance along the direction from `at`. */
export const alongLine = ({ at, direction }: PlanLine, [x, y]: Vector2): number =>
  (x - at[0]) * direction[0] + (y - at[1]) * direction[1];

export const onLine = (line: PlanLine, along: number): Vector2 => [
  line.at[0] + along * line.direction[0],
  line.at[1] + along * line.direction[1],
];

/** Crossing of two lines; null when their directions differ by less than `leastSine`. */
export function crossingOf(a: PlanLine, b: PlanLine, leastSine = 1e-9): Vector2 | null {
  const sine = a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0];
  if (Math.abs(sine) < leastSine) return null;
  const [dx, dy] = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
  return onLine(a, (dx * b.direction[1] - dy * b.direction[0]) / sine);
}

/** Running sums of positions, from which a line is fitted to any stretch of them at once. */
export interface PositionSums {
  readonly count: number;
  readonly origin: Vector2;
  /** x, y, xx, xy, yy summed over all positions before entry i, `(n + 1) × 5`. */
  readonly sums: Float64Array;
}

export function sumPositions(positions: readonly Vector2[]): PositionSums {
  const origin: Vector2 = positions[0] ?? [0, 0];
  const sums = new Float64Array(5 * (positions.length + 1));
  positions.forEach((p, i) => {
    const x = p[0] - origin[0];
    const y = p[1] - origin[1];
    const to = 5 * (i + 1);
    const values = [x, y, x * x, x * y, y * y];
    for (let k = 0; k < 5; k++) sums[to + k] = sums[to - 5 + k]! + values[k]!;
  });
  return { count: positions.length, origin, sums };
}

export interface FittedLine extends PlanLine {
  /** Sum of squared distances of the positions from the line. */
  readonly squares: number;
  readonly count: number;
}

/**
 * Line with the least sum of squared perpendicular distances (Pearson 1901) through positions `from` to `to` - 1;
 * its direction runs from the first towards the last.
 */
export function fitLine({ sums, origin }: PositionSums, positions: readonly Vector2[], from: number, to: number): FittedLine {
  const part = (k: number): number => sums[5 * to + k]! - sums[5 * from + k]!;
  const n = to - from;
  const mx = part(0) / n;
  const my = part(1) / n;
  const xx = part(2) - n * mx * mx;
  const xy = part(3) - n * mx * my;
  const yy = part(4) - n * my * my;
  const angle = 0.5 * atan2(2 * xy, xx - yy);
  let direction: Vector2 = [cos(angle), sin(angle)];
  const [first, last] = [positions[from]!, positions[to - 1]!];
  if ((last[0] - first[0]) * direction[0] + (last[1] - first[1]) * direction[1] < 0) direction = [-direction[0], -direction[1]];
  const squares = Math.max(0, (xx + yy) / 2 - Math.hypot((xx - yy) / 2, xy));
  return { at: [origin[0] + mx, origin[1] + my], direction, squares, count: n };
}

/**
 * Cuts a chain of positions into straight stretches: the cut with the least sum of squared distances in units of
 * `sigma`², each stretch more costing `price`. Too small a price cuts at noise, too large a one rounds corners off.
 *
 * @returns Indices where stretches begin, and the number of positions at the end.
 */
export function cutIntoStraights(positions: readonly Vector2[], sigma: number, price: number): number[] {
  const n = positions.length;
  if (n <= 2) return [0, n];
  const candidates = candidateCuts(positions, 0.8 * sigma * 2);
  const sums = sumPositions(positions);
  const best = new Float64Array(candidates.length).fill(Infinity);
  const cameFrom = new Int32Array(candidates.length);
  best[0] = 0;
  const reach = 250;
  for (let j = 1; j < candidates.length; j++) {
    for (let i = Math.max(0, j - reach); i < j; i++) {
      const [from, to] = [candidates[i]!, candidates[j]!];
      const squares = to - from < 3 ? 0 : fitLine(sums, positions, from, to).squares;
      // Two or three positions fit any line; they pay as for a bend.
      const short = to - from < 3 ? price / 2 : 0;
      const cost = best[i]! + squares / (sigma * sigma) + price + short;
      if (cost < best[j]!) {
        best[j] = cost;
        cameFrom[j] = i;
      }
    }
  }
  const cuts: number[] = [];
  for (let j = candidates.length - 1; j > 0; j = cameFrom[j]!) cuts.push(candidates[j]!);
  cuts.push(0);
  return cuts.reverse();
}

/** Corners left by dropping every position nearer than `tolerance` to the chord (Douglas and Peucker 1973). */
function candidateCuts(positions: readonly Vector2[], tolerance: number): number[] {
  const keep = new Set<number>([0, positions.length]);
  const stack: [number, number][] = [[0, positions.length - 1]];
  while (stack.length > 0) {
    const [from, to] = stack.pop()!;
    if (to - from < 2) continue;
    const [a, b] = [positions[from]!, positions[to]!];
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    let [far, at] = [0, -1];
    for (let i = from + 1; i < to; i++) {
      const p = positions[i]!;
      const away =
        size > 1e-9
          ? Math.abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / size
          : Math.hypot(p[0] - a[0], p[1] - a[1]);
      if (away > far) [far, at] = [away, i];
    }
    if (at < 0 || far < tolerance) continue;
    keep.add(at);
    stack.push([from, at], [at, to]);
  }
  return [...keep].sort((p, q) => p - q);
}
