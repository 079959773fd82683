import type { SurfaceModel } from './surface-model.ts';

/** Farthest a surface is looked along. [m] A 20 m tree at this distance stands 6 degrees high. */
export const REACH = 200;
/** Steps along a ray grow with distance by this share: a 1.7 degree wide thing is not stepped over. */
const STEP_GROWTH = 0.03;
/** Heights of neighbouring cells that part by more than some of this are a wall, not a slope. [m] */
const WALL = 0.3;
/** Cells a side of the small and the large blocks whose highest point lets rays leap: 8 and 64. */
const SMALL_BITS = 3;
const LARGE_BITS = 6;

/** A surface made ready for looking along it. */
export interface Relief {
  readonly surface: SurfaceModel;
  /** Elevation with cells not seen at the lowest one seen. [m] */
  readonly filled: Float32Array;
  readonly small: Blocks;
  readonly large: Blocks;
  readonly highest: number;
}

/** Square blocks of cells. */
interface Blocks {
  readonly columns: number;
  /** Highest cell of each block and of the eight about it. [m] */
  readonly tops: Float32Array;
}

export function reliefOf(surface: SurfaceModel): Relief {
  let lowest = Infinity;
  let highest = -Infinity;
  for (const z of surface.elevation) {
    if (z < lowest) lowest = z;
    if (z > highest) highest = z;
  }
  const unseen = Math.min(lowest, highest);
  const filled = surface.elevation.slice();
  for (let i = 0; i < filled.length; i++) if (Number.isNaN(filled[i]!)) filled[i] = unseen;
  return { surface, filled, highest, small: blocksOf(surface, filled, SMALL_BITS), large: blocksOf(surface, filled, LARGE_BITS) };
}

function blocksOf({ columns, rows }: SurfaceModel, filled: Float32Array, bits: number): Blocks {
  const wide = ((columns - 1) >> bits) + 1;
  const deep = ((rows - 1) >> bits) + 1;
  const tops = new Float32Array(wide * deep).fill(-Infinity);
  for (let row = 0; row < rows; row++) {
    const first = (row >> bits) * wide;
    for (let column = 0; column < columns; column++) {
      const at = first + (column >> bits);
      const z = filled[row * columns + column]!;
      if (z > tops[at]!) tops[at] = z;
    }
  }
  return { columns: wide, tops: spread(tops, wide, deep) };
}

/** Highest of each block and its neighbours, so that a leap of one block's width can miss nothing. */
function spread(tops: Float32Array, columns: number, rows: number): Float32Array {
  return tops.map((_, at) => {
    const row = Math.floor(at / columns);
    const column = at % columns;
    let top = -Infinity;
    for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
      for (let c = Math.max(0, column - 1); c <= Math.min(columns - 1, column + 1); c++) top = Math.max(top, tops[r * columns + c]!);
    }
    return top;
  });
}

/**
 * Steepest tangent along a ray over a surface: heights between cell centres drawn straight on slopes, those of the cell
 * itself at a wall. The inner loop of all shade: distances in cells, whole numbers by bit operations (nothing here is
 * negative). Blocks that cannot rise above what was seen are leapt over, large ones first.
 *
 * @param column  Of the eye, cell centres at whole numbers. @param z  Of the eye. [m]
 */
export function lookAlong(relief: Relief, column: number, row: number, z: number, sine: number, cosine: number): number {
  const { small, large, highest, filled } = relief;
  const { columns, rows, cellSize } = relief.surface;
  const reach = Math.min(REACH / cellSize, roomAhead(column, sine, columns - 1), roomAhead(row, cosine, rows - 1));
  // Tangents per cell instead of per metre until the end.
  let steepest = 0;
  let distance = 1;
  let before = 1;
  while (distance < reach) {
    const beat = z + steepest * distance;
    if (highest <= beat) break;
    const x = column + distance * sine;
    const y = row + distance * cosine;
    const c = x | 0;
    const r = y | 0;
    if (small.tops[(r >> SMALL_BITS) * small.columns + (c >> SMALL_BITS)]! <= beat) {
      const isFree = large.tops[(r >> LARGE_BITS) * large.columns + (c >> LARGE_BITS)]! <= beat;
      distance += isFree ? 1 << LARGE_BITS : 1 << SMALL_BITS;
      before = distance;
      continue;
    }
    const at = r * columns + c;
    const lowLeft = filled[at]!;
    const lowRight = filled[at + 1]!;
    const highLeft = filled[at + columns]!;
    const highRight = filled[at + columns + 1]!;
    // Most cells are lower than what was seen already.
    if (lowLeft > beat || lowRight > beat || highLeft > beat || highRight > beat) {
      const fx = x - c;
      const fy = y - r;
      const low = lowLeft + fx * (lowRight - lowLeft);
      let height = low + fy * (highLeft + fx * (highRight - highLeft) - low);
      const own = fy >= 0.5 ? (fx >= 0.5 ? highRight : highLeft) : (fx >= 0.5 ? lowRight : lowLeft);
      if (own - height > WALL || height - own > WALL) height = own;
      if (height > beat + WALL) steepest = nearSide(filled, columns, column, row, z, sine, cosine, before, distance, steepest);
      if (height - z > steepest * distance) steepest = (height - z) / distance;
    }
    before = distance;
    distance += distance < 25 ? 0.75 : distance * STEP_GROWTH;
  }
  return steepest / cellSize;
}

/** Something much higher begins between two steps of a ray: steepest tangent on the way there, in half cells. */
function nearSide(
  filled: Float32Array, columns: number, column: number, row: number, z: number, sine: number, cosine: number,
  from: number, to: number, steepest: number,
): number {
  let most = steepest;
  for (let t = from + 0.5; t < to; t += 0.5) {
    const own = filled[((row + t * cosine + 0.5) | 0) * columns + ((column + t * sine + 0.5) | 0)]!;
    if (own - z > most * t) most = (own - z) / t;
  }
  return most;
}

/** How far a ray may run before it leaves the raster on one axis; nothing when it starts outside. [cells] */
function roomAhead(start: number, direction: number, last: number): number {
  if (start < 0 || start >= last) return 0;
  if (direction > 1e-9) return (last - start) / direction - 1e-6;
  if (direction < -1e-9) return start / -direction - 1e-6;
  return Infinity;
}
