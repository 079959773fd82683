import { exchangeAxes, freeIntervalFinder, type RimPieces } from './free-intervals.ts';
import type { PackProblem, PackShape } from './pack-types.ts';

/**
 * For every start a row may have, and every shape, the stretches along the row where that shape may stand. `along: 'x'`
 * are rows, `along: 'y'` are columns: there x and y are exchanged in everything the table holds.
 */
export interface BandTable {
  readonly along: 'x' | 'y';
  /** Rising. [m] */
  readonly starts: Float64Array;
  readonly bands: readonly ShapeBands[];
  readonly gapAlong: number;
  readonly gapAcross: number;
}

/** Stretches of one shape: those of start `i` stand at `offsets[i]` to `offsets[i + 1]` in `from` and `to`. */
export interface ShapeBands {
  readonly length: number;
  readonly depth: number;
  readonly modules: number;
  readonly offsets: Int32Array;
  readonly from: Float64Array;
  readonly to: Float64Array;
}

/** Distance at which a row stands on a level piece of rim: the clearance kept and some for rounding. [m] */
export const ON_RIM = 1.5e-4;
/** Starts closer than this to each other are one. [m] */
const SAME_START = 2e-4;

/**
 * @param step  Distance between tried row starts; smaller finds a little more along slanting rims and takes longer. [m]
 * @param mostStarts  Bound on the number of tried starts; the step grows on large roofs.
 */
export function bandTable(pieces: RimPieces, problem: PackProblem, along: 'x' | 'y', step: number, mostStarts: number): BandTable {
  const rim = along === 'x' ? pieces : exchangeAxes(pieces);
  const shapes = problem.shapes.map((shape) => (along === 'x' ? shape : exchanged(shape)));
  const gapAlong = along === 'x' ? problem.gapX : problem.gapY;
  const gapAcross = along === 'x' ? problem.gapY : problem.gapX;
  const starts = rowStarts(rim, shapes, gapAcross, step, mostStarts);
  return { along, starts, gapAlong, gapAcross, bands: shapes.map((shape) => shapeBands(rim, shape, starts)) };
}

const exchanged = (shape: PackShape): PackShape => ({ ...shape, width: shape.height, height: shape.width });

function shapeBands(rim: RimPieces, shape: PackShape, starts: Float64Array): ShapeBands {
  const offsets = new Int32Array(starts.length + 1);
  const from: number[] = [];
  const to: number[] = [];
  const find = freeIntervalFinder(rim);
  for (let i = 0; i < starts.length; i++) {
    const { found, count } = find(starts[i]!, starts[i]! + shape.height, shape.width);
    for (let k = 0; k < count; k += 2) {
      from.push(found[k]!);
      to.push(found[k + 1]!);
    }
    offsets[i + 1] = from.length;
  }
  return {
    length: shape.width, depth: shape.height, modules: shape.modules,
    offsets, from: Float64Array.from(from), to: Float64Array.from(to),
  };
}

/**
 * Row starts worth trying: an even ladder, and every stack of rows standing on a level piece of rim or hanging from one
 * (in an optimum pushed down, each row rests on the rim or on another row: the normal patterns of Herz 1972).
 */
function rowStarts(rim: RimPieces, shapes: readonly PackShape[], gap: number, step: number, mostStarts: number): Float64Array {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 1; i < rim.length; i += 2) {
    low = Math.min(low, rim[i]!);
    high = Math.max(high, rim[i]!);
  }
  const least = Math.min(...shapes.map((shape) => shape.height));
  const last = high - least;
  if (!(last >= low)) return new Float64Array(0);
  const found: number[] = [];
  const ladder = Math.max(step, (last - low) / mostStarts);
  for (let y = low; y <= last; y += ladder) found.push(y);
  const stacks = stackHeights(shapes.map((shape) => shape.height + gap), last - low, mostStarts);
  const bases = levelPieces(rim, least);
  const room = Math.max(1, Math.floor((2 * mostStarts) / Math.max(1, bases.length * 2)));
  for (const base of bases) {
    for (const stack of stacks.slice(0, room)) {
      const standing = base + ON_RIM + stack;
      if (standing <= last) found.push(standing);
    }
    for (const shape of shapes) {
      for (const stack of stacks.slice(0, room)) {
        const hanging = base - ON_RIM - shape.height - stack;
        if (hanging >= low && hanging <= last) found.push(hanging);
      }
    }
  }
  return Float64Array.from(withoutRepeats(found));
}

/** Level pieces of rim, by height, at least half a shape long. */
export function levelPieces(rim: RimPieces, least: number): number[] {
  const levels: number[] = [];
  for (let i = 0; i < rim.length; i += 4) {
    if (Math.abs(rim[i + 1]! - rim[i + 3]!) < 1e-3 && Math.abs(rim[i]! - rim[i + 2]!) > least / 4) levels.push(rim[i + 1]!);
  }
  return withoutRepeats(levels);
}

function stackHeights(pitches: readonly number[], most: number, limit: number): number[] {
  let heights = [0];
  for (const pitch of new Set(pitches)) {
    const longer: number[] = [];
    for (const height of heights) {
      for (let k = 0; height + k * pitch <= most && longer.length < limit * 4; k++) longer.push(height + k * pitch);
    }
    heights = longer;
  }
  return withoutRepeats(heights).slice(0, limit);
}

export function withoutRepeats(values: number[]): number[] {
  values.sort((a, b) => a - b);
  return values.filter((value, i) => i === 0 || value - values[i - 1]! > SAME_START);
}
