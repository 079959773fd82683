import type { Cell } from '../../cloud/cloud.ts';
import { VoxelFinder } from './voxel-finder.ts';

/** How space is cut: cubes whose walls stand on the walls of the cells, so that none holds points of two cells. */
export interface VoxelSize {
  /** Edge of a cube. [m] */
  readonly size: number;
  /** Cubes along one side of a cell: cell size / size. */
  readonly perCell: number;
}

export interface SumVoxelsWork {
  readonly cell: Cell;
  readonly voxels: VoxelSize;
}

/** Where the occupied voxels of one cell stand, by column (row by row), then by level. */
export interface VoxelPlaces {
  readonly count: number;
  /** Place in the cell's plan: `y * perCell + x`. */
  readonly columns: Uint32Array;
  /** floor(z / size), local frame. */
  readonly levels: Int32Array;
}

/** Occupied voxels of one cell. Plain data: it crosses threads. */
export interface CellVoxels extends VoxelPlaces {
  /** `MOMENTS` numbers a voxel. */
  readonly sums: Float64Array;
}

/** Count, Σx, Σy, Σz, Σxx, Σxy, Σxz, Σyy, Σyz, Σzz about the centre of the voxel. */
export const MOMENTS = 10;

/** Adds one point to the moments that begin at `o`. */
export function addPoint(sums: Float64Array, o: number, x: number, y: number, z: number): void {
  sums[o]!++;
  sums[o + 1]! += x;
  sums[o + 2]! += y;
  sums[o + 3]! += z;
  sums[o + 4]! += x * x;
  sums[o + 5]! += x * y;
  sums[o + 6]! += x * z;
  sums[o + 7]! += y * y;
  sums[o + 8]! += y * z;
  sums[o + 9]! += z * z;
}

/** A thread sums one cell after the other in the same room; voxels stand in it in the order in which points met them. */
const room = {
  finder: new VoxelFinder(),
  columns: new Uint32Array(4096),
  levels: new Int32Array(4096),
  sums: new Float64Array(MOMENTS * 4096),
};

/**
 * Gathers the points of one cell into voxel moments: one pass, no neighbour search. A cell's points stand in an order
 * that depends on the points alone, so the rounding of the sums does too.
 */
export function sumVoxels({ cell, voxels }: SumVoxelsWork): CellVoxels {
  const { size, perCell } = voxels;
  const { positions, pointCount } = cell;
  const baseZ = cell.origin[2];
  const { finder } = room;
  let { columns, levels, sums } = room;
  const inverse = 1 / size;
  const last = perCell - 1;
  beginCell(finder, cell, voxels);
  let count = 0;
  for (let i = 0, j = 0; i < pointCount; i++, j += 3) {
    const px = positions[j]!;
    const py = positions[j + 1]!;
    const pz = positions[j + 2]! + baseZ;
    let vx = (px * inverse) | 0;
    let vy = (py * inverse) | 0;
    if (vx > last) vx = last;
    else if (vx < 0) vx = 0;
    if (vy > last) vy = last;
    else if (vy < 0) vy = 0;
    const level = Math.floor(pz * inverse) | 0;
    const column = vy * perCell + vx;
    let voxel = finder.find(column, level);
    if (voxel < 0) {
      if (count === columns.length) {
        columns = room.columns = doubled(columns, Uint32Array);
        levels = room.levels = doubled(levels, Int32Array);
        sums = room.sums = doubled(sums, Float64Array);
      }
      voxel = count++;
      columns[voxel] = column;
      levels[voxel] = level;
      sums.fill(0, MOMENTS * voxel, MOMENTS * count);
      finder.put(column, level, voxel);
    }
    addPoint(sums, MOMENTS * voxel, px - (vx + 0.5) * size, py - (vy + 0.5) * size, pz - (level + 0.5) * size);
  }
  finder.end(columns, levels, count);
  return inOrder(count, perCell, columns, levels, sums);
}

/** Makes room for the voxels of a cell; any prefix of its points is an even sample. */
function beginCell(finder: VoxelFinder, { positions, pointCount, origin }: Cell, { size, perCell }: VoxelSize): void {
  let low = Infinity;
  let high = -Infinity;
  for (let j = 2; j < 3 * pointCount; j += 3) {
    const z = positions[j]!;
    if (z < low) low = z;
    if (z > high) high = z;
  }
  const inverse = 1 / size;
  const levelOf = (z: number): number => Math.floor((z + origin[2]) * inverse);
  const sample = Float64Array.from({ length: Math.min(pointCount, 64) }, (_, i) => positions[3 * i + 2]!).sort();
  finder.begin(perCell * perCell, levelOf(low), levelOf(high), levelOf(sample[sample.length >> 1]!));
}

function doubled<Values extends Float64Array | Uint32Array | Int32Array>(
  values: Values,
  make: new (length: number) => Values,
): Values {
  const larger = new make(2 * values.length);
  larger.set(values);
  return larger;
}

/** By column (counting sort), in each by level (insertion: most hold two or three). */
function inOrder(count: number, perCell: number, columns: Uint32Array, levels: Int32Array, sums: Float64Array): CellVoxels {
  const next = new Uint32Array(perCell * perCell + 1);
  for (let k = 0; k < count; k++) next[columns[k]! + 1]!++;
  for (let c = 0; c < perCell * perCell; c++) next[c + 1]! += next[c]!;
  const order = new Uint32Array(count);
  for (let k = 0; k < count; k++) order[next[columns[k]!]!++] = k;
  // Each entry is now the end of its column, which is where the next one begins.
  for (let c = 0, begin = 0; c < perCell * perCell; c++) {
    const end = next[c]!;
    for (let i = begin + 1; i < end; i++) {
      const k = order[i]!;
      let at = i;
      for (; at > begin && levels[order[at - 1]!]! > levels[k]!; at--) order[at] = order[at - 1]!;
      order[at] = k;
    }
    begin = end;
  }
  const sorted = { count, columns: new Uint32Array(count), levels: new Int32Array(count), sums: new Float64Array(MOMENTS * count) };
  for (let i = 0; i < count; i++) {
    const k = order[i]!;
    sorted.columns[i] = columns[k]!;
    sorted.levels[i] = levels[k]!;
    for (let m = 0; m < MOMENTS; m++) sorted.sums[MOMENTS * i + m] = sums[MOMENTS * k + m]!;
  }
  return sorted;
}
