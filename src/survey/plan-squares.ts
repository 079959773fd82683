/** How many points stand in each square of a plan, and the box they lie in. Plain data: it crosses threads. */
export interface PlanSquares {
  /** See `squareKey`; ascending. */
  readonly keys: Float64Array;
  readonly counts: Float64Array;
  /** x, y, z, `n × 3`. */
  readonly lowest: Float64Array;
  readonly highest: Float64Array;
}

/** Rows of squares that a key can tell apart; half of them lie south of zero. */
const ROWS = 2 ** 26;

/** One whole number for a square, exact as long as neither index reaches 2^25. */
export const squareKey = (column: number, row: number): number => column * ROWS + row + ROWS / 2;

export function squareOfKey(key: number): readonly [column: number, row: number] {
  const column = Math.floor(key / ROWS);
  return [column, key - column * ROWS - ROWS / 2];
}

class Squares {
  private readonly indexOf = new Map<number, number>();
  private readonly counts: number[] = [];
  private readonly lowest: number[] = [];
  private readonly highest: number[] = [];

  indexFor(key: number): number {
    const known = this.indexOf.get(key);
    if (known !== undefined) return known;
    const index = this.counts.length;
    this.indexOf.set(key, index);
    this.counts.push(0);
    this.lowest.push(Infinity, Infinity, Infinity);
    this.highest.push(-Infinity, -Infinity, -Infinity);
    return index;
  }

  /** Counts points whose box is given by two lists of coordinates. */
  add(index: number, count: number, low: Float64Array, high: Float64Array, at: number): void {
    this.counts[index]! += count;
    for (let axis = 0; axis < 3; axis++) {
      const to = 3 * index + axis;
      if (low[at + axis]! < this.lowest[to]!) this.lowest[to] = low[at + axis]!;
      if (high[at + axis]! > this.highest[to]!) this.highest[to] = high[at + axis]!;
    }
  }

  /** By key, so that they do not depend on who came first. */
  finish(): PlanSquares {
    const sorted = [...this.indexOf.entries()].sort(([a], [b]) => a - b);
    const triples = (values: readonly number[]): Float64Array => Float64Array.from(sorted.flatMap(([, index]) => values.slice(3 * index, 3 * index + 3)));
    return {
      keys: Float64Array.from(sorted, ([key]) => key),
      counts: Float64Array.from(sorted, ([, index]) => this.counts[index]!),
      lowest: triples(this.lowest),
      highest: triples(this.highest),
    };
  }
}

/** @param positions  x, y, z, `n × 3`, z up. @param side  Of a square. Both in the same unit. */
export function countInSquares(positions: Float64Array, side: number): PlanSquares {
  const squares = new Squares();
  let lastKey = NaN;
  let index = 0;
  for (let at = 0; at < positions.length; at += 3) {
    const key = squareKey(Math.floor(positions[at]! / side), Math.floor(positions[at + 1]! / side));
    if (key !== lastKey) index = squares.indexFor(key);
    lastKey = key;
    squares.add(index, 1, positions, positions, at);
  }
  return squares.finish();
}

/** Counts of several parts or files as one. */
export function joinSquares(all: readonly PlanSquares[]): PlanSquares {
  const squares = new Squares();
  for (const { keys, counts, lowest, highest } of all) {
    for (let k = 0; k < keys.length; k++) squares.add(squares.indexFor(keys[k]!), counts[k]!, lowest, highest, 3 * k);
  }
  return squares.finish();
}
