import type { Vector3 } from '../geometry/vector.ts';
import type { PlanBox, SurfaceModel } from './surface-model.ts';

/** Farthest a surface is looked along. [m] A 20 m tree at this distance stands 6 degrees high. */
export const REACH = 200;
/** Distances at which a ray looks: every three quarters of a cell, from 25 cells on growing by 3 %, so that a 1.7 degree wide thing is not stepped over. [cells] */
const STEP = 0.75;
const EVEN_STEPS_TO = 25;
const STEP_GROWTH = 0.03;
/** Heights of neighbouring cells that part by more than some of this are a wall, not a slope. [m] */
const WALL = 0.3;
/** Cells a side of the blocks whose highest point lets rays leap: 8, 32 and 128. */
const SMALL_BITS = 3;
const MIDDLE_BITS = 5;
const LARGE_BITS = 7;
const FOURFOLD = 2;
/** A horizon that the own plane makes is drawn this much below it, so that straight pieces between looks never pass it: a degree and some of its slope. [-] */
const UNDER_PLANE = 0.02;
/** Eyes are lifted by this: what rounding leaves of cells above their own plane is not seen. [m] */
const LIFT = 0.002;

/** A surface made ready for looking along it. */
export interface Relief {
  readonly surface: SurfaceModel;
  /** Elevation with cells not seen at the lowest one seen. [m] */
  readonly filled: Float32Array;
  readonly small: Blocks;
  readonly middle: Blocks;
  readonly large: Blocks;
  readonly highest: number;
  /** Looking distances, rising; the last lies past every reach. [cells] */
  readonly distances: Float64Array;
  /** First of the distances that is not less than a whole number of cells. */
  readonly firstFrom: Int32Array;
}

/** Square blocks of cells. */
interface Blocks {
  readonly columns: number;
  readonly rows: number;
  /** Highest cell of each block, and of the cells next to it on the east and north: heights are drawn between four. [m] */
  readonly tops: Float32Array;
}

/**
 * The plane a ray starts from: what stands on it is told from it by heights above that plane, so that looking up a slope
 * need not visit the cells of the slope.
 */
export interface Incline {
  /** Rise of the plane per cell to the east and to the north. [m] */
  readonly east: number;
  readonly north: number;
  /** Heights above the plane through the raster's first cell; infinite in blocks that were not judged. */
  readonly small: Blocks;
  readonly middle: Blocks;
}

export function reliefOf(surface: SurfaceModel): Relief {
  const { elevation, columns, rows } = surface;
  let lowest = Infinity;
  let highest = -Infinity;
  for (let i = 0; i < elevation.length; i++) {
    if (elevation[i]! < lowest) lowest = elevation[i]!;
    if (elevation[i]! > highest) highest = elevation[i]!;
  }
  const unseen = Math.min(lowest, highest);
  const filled = elevation.slice();
  for (let i = 0; i < filled.length; i++) if (Number.isNaN(filled[i]!)) filled[i] = unseen;
  const small = smallBlocks(filled, columns, rows, 0, 0, [0, 0, (columns - 1) >> SMALL_BITS, (rows - 1) >> SMALL_BITS]);
  const middle = fourfold(small);
  return { surface, filled, highest, small, middle, large: fourfold(middle), ...lookingDistances(REACH / surface.cellSize) };
}

function lookingDistances(reach: number): { distances: Float64Array; firstFrom: Int32Array } {
  const distances = [1];
  while (distances.at(-1)! < reach) distances.push(distances.at(-1)! + (distances.at(-1)! < EVEN_STEPS_TO ? STEP : distances.at(-1)! * STEP_GROWTH));
  const firstFrom = new Int32Array(Math.ceil(reach) + 1).fill(distances.length - 1);
  for (let cells = 0, i = 0; cells < firstFrom.length; cells++) {
    while (i < distances.length - 1 && distances[i]! < cells) i++;
    firstFrom[cells] = i;
  }
  return { distances: Float64Array.from(distances), firstFrom };
}

/** First and last column and row of blocks, both inside: c0, r0, c1, r1. */
type BlockRange = readonly [number, number, number, number];

/** Blocks of 8 cells a side, heights above a plane that rises by `east` and `north` per cell; infinite outside a range. */
function smallBlocks(filled: Float32Array, columns: number, rows: number, east: number, north: number, [c0, r0, c1, r1]: BlockRange): Blocks {
  const wide = ((columns - 1) >> SMALL_BITS) + 1;
  const deep = ((rows - 1) >> SMALL_BITS) + 1;
  const tops = new Float32Array(wide * deep).fill(Infinity);
  for (let r = r0; r <= r1; r++) {
    const lastRow = Math.min(rows - 1, (r + 1) << SMALL_BITS);
    for (let c = c0; c <= c1; c++) {
      const lastColumn = Math.min(columns - 1, (c + 1) << SMALL_BITS);
      let top = -Infinity;
      for (let row = r << SMALL_BITS; row <= lastRow; row++) {
        for (let column = c << SMALL_BITS; column <= lastColumn; column++) {
          const above = filled[row * columns + column]! - column * east - row * north;
          if (above > top) top = above;
        }
      }
      tops[r * wide + c] = top;
    }
  }
  return { columns: wide, rows: deep, tops };
}

/** Blocks of four times the side. */
function fourfold({ columns, rows, tops }: Blocks): Blocks {
  const wide = ((columns - 1) >> FOURFOLD) + 1;
  const deep = ((rows - 1) >> FOURFOLD) + 1;
  const joined = new Float32Array(wide * deep).fill(-Infinity);
  for (let i = 0; i < tops.length; i++) {
    const at = (Math.floor(i / columns) >> FOURFOLD) * wide + ((i % columns) >> FOURFOLD);
    if (tops[i]! > joined[at]!) joined[at] = tops[i]!;
  }
  return { columns: wide, rows: deep, tops: joined };
}

/** A level plane: nothing more is known than the relief says. */
export const levelIncline = ({ small, middle }: Relief): Incline => ({ east: 0, north: 0, small, middle });

/**
 * The plane that eyes lie on, its blocks judged about them.
 *
 * @param normal  Unit, upward. @param box  x0, y0, x1, y1 about the eyes. [m]
 */
export function inclineOf(relief: Relief, normal: Vector3, box: PlanBox): Incline {
  const { cellSize, origin, columns, rows } = relief.surface;
  // To a millionth: normals of one plane that differ by rounding shall give one answer.
  const east = (-Math.round((normal[0] / normal[2]) * 1e6) / 1e6) * cellSize;
  const north = (-Math.round((normal[1] / normal[2]) * 1e6) / 1e6) * cellSize;
  if (east === 0 && north === 0) return levelIncline(relief);
  const block = (at: number, start: number, count: number): number => Math.min(count - 1, Math.max(0, Math.floor((at - start) / cellSize) >> SMALL_BITS));
  const [wide, deep] = [relief.small.columns, relief.small.rows];
  const near: BlockRange = [block(box[0], origin[0], wide), block(box[1], origin[1], deep), block(box[2], origin[0], wide), block(box[3], origin[1], deep)];
  const small = smallBlocks(relief.filled, columns, rows, east, north, near);
  return { east, north, small, middle: fourfold(small) };
}

/**
 * Steepest tangent along a ray over a surface; where nothing rises above the plane it starts from, hardly less than that
 * plane's slope: heights between cell
 * centres drawn straight on slopes, those of the cell itself at a wall. The inner loop of all shade: distances in cells,
 * whole numbers by bit operations (nothing here is negative). A ray looks at fixed distances; blocks that cannot rise above
 * what was seen are leapt over, which changes nothing in the answer.
 *
 * @param column  Of the eye, cell centres at whole numbers. @param foot  Height of the eye. [m]
 */
export function lookAlong(relief: Relief, incline: Incline, column: number, row: number, foot: number, sine: number, cosine: number): number {
  const z = foot + LIFT;
  const { highest, filled, distances, firstFrom } = relief;
  const { columns, rows, cellSize } = relief.surface;
  const { columns: smallColumns, tops: small } = relief.small;
  const { columns: middleColumns, tops: middle } = relief.middle;
  const { columns: largeColumns, tops: large } = relief.large;
  const smallAbove = incline.small.tops;
  const middleAbove = incline.middle.tops;
  const reach = Math.min(REACH / cellSize, roomAhead(column, sine, columns - 1), roomAhead(row, cosine, rows - 1));
  const rise = incline.east * sine + incline.north * cosine;
  const above = z - incline.east * column - incline.north * row;
  const perColumn = 1 / sine;
  const perRow = 1 / cosine;
  const eastward = sine >= 0 ? 1 : 0;
  const northward = cosine >= 0 ? 1 : 0;
  // Tangents per cell instead of per metre until the end.
  const least = rise > 0 ? rise : 0;
  let steepest = least;
  for (let i = 0, distance = 1; distance < reach; distance = distances[i]!) {
    const beat = z + steepest * distance;
    if (highest <= beat) break;
    const beatAbove = above + (steepest - rise) * distance;
    const x = column + distance * sine;
    const y = row + distance * cosine;
    const c = x | 0;
    const r = y | 0;
    const block = (r >> SMALL_BITS) * smallColumns + (c >> SMALL_BITS);
    if (small[block]! <= beat || smallAbove[block]! <= beatAbove) {
      const wider = (r >> MIDDLE_BITS) * middleColumns + (c >> MIDDLE_BITS);
      let bits = SMALL_BITS;
      if (middle[wider]! <= beat) bits = large[(r >> LARGE_BITS) * largeColumns + (c >> LARGE_BITS)]! <= beat ? LARGE_BITS : MIDDLE_BITS;
      else if (middleAbove[wider]! <= beatAbove) bits = MIDDLE_BITS;
      // Where the ray leaves the block.
      const toColumn = ((((c >> bits) + eastward) << bits) - column) * perColumn;
      const toRow = ((((r >> bits) + northward) << bits) - row) * perRow;
      const leave = toColumn < toRow ? toColumn : toRow;
      if (leave >= reach) break;
      const next = firstFrom[leave | 0]!;
      i = next > i ? next : i + 1;
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
      if (own - height > WALL || height - own > WALL) {
        // A cell of the plane itself is no wall, although it may lie above the ray beside its middle.
        const ownAbove = own - ((x + 0.5) | 0) * incline.east - ((y + 0.5) | 0) * incline.north;
        height = ownAbove > beatAbove ? own : z;
      }
      if (height > beat + WALL && i > 0) steepest = nearSide(filled, columns, column, row, z, sine, cosine, distances[i - 1]!, distance, steepest);
      if (height - z > steepest * distance) steepest = (height - z) / distance;
    }
    i++;
  }
  if (steepest > least) return steepest / cellSize;
  const under = rise - UNDER_PLANE * (Math.abs(incline.east) + Math.abs(incline.north));
  return under > 0 ? under / cellSize : 0;
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
