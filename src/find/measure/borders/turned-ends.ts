import { besideLine, fitLine, sumPositions, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';

/** How far a rim that follows a line may lie beside it. */
export interface Straying {
  /** One sigma of a position of the rim about its line. [m] */
  readonly sigma: number;
  /** What strays no farther than this is no turn. [m] */
  readonly least: number;
  /** Cost of one more straight piece, in squared sigmas. */
  readonly price: number;
}

const SHORTEST_END = 3;

/**
 * Positions at either end of a rim that lie better on a straight line of their own than on the line the rest follows: the
 * cheek of a dormer, a few cells long, that goes on where the valley has ended.
 *
 * @param positions  Along the rim, evenly. Local frame. [m]
 * @returns How many at the start and at the end; 0 where the rim follows the line to its end.
 */
export function turnedEnds(positions: readonly Vector2[], line: PlanLine, straying: Straying): { readonly start: number; readonly end: number } {
  const end = turnedTail(positions, line, straying);
  const start = turnedTail([...positions].reverse(), line, straying);
  return start + end + SHORTEST_END <= positions.length ? { start, end } : { start: 0, end: 0 };
}

function turnedTail(positions: readonly Vector2[], line: PlanLine, { sigma, least, price }: Straying): number {
  const n = positions.length;
  if (n < 2 * SHORTEST_END || Math.abs(besideLine(line, positions[n - 1]!)) <= least) return 0;
  const sums = sumPositions(positions);
  let [onLine, best, size] = [0, 0, 0];
  for (let count = 1; count <= n - SHORTEST_END; count++) {
    onLine += besideLine(line, positions[n - count]!) ** 2;
    if (count < SHORTEST_END) continue;
    const gain = (onLine - fitLine(sums, positions, n - count, n).squares) / (sigma * sigma) - price;
    if (gain > best) [best, size] = [gain, count];
  }
  return size;
}
