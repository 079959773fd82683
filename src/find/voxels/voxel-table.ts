import type { Cloud } from '../../cloud/cloud.ts';
import { isShared, roomFor } from '../../cloud/point-memory.ts';
import { MOMENTS, type CellVoxels, type VoxelSize } from './sum-voxels.ts';

/**
 * All occupied voxels of a cloud, cell after cell, in each cell by column and level. Neighbours are found without a hash:
 * every cell has a table of its columns with a rim one column wide that repeats its neighbours' columns, so a step east
 * is + 1 and a step north is + `stride` wherever one stands.
 */
export interface VoxelTable {
  /** Edge of a voxel. [m] */
  readonly size: number;
  readonly count: number;
  /** `MOMENTS` numbers a voxel, about its centre. */
  readonly sums: Float64Array;
  /** Centre of gravity of a voxel's points, `n × 3`, local frame. [m] */
  readonly means: Float64Array;
  /** Global plan place of a voxel: columns east and north of the grid's lower left corner. */
  readonly x: Int32Array;
  readonly y: Int32Array;
  /** floor(z / size). */
  readonly level: Int32Array;
  /** Entry of the voxel's column in the padded tables. */
  readonly entry: Uint32Array;
  readonly stride: number;
  /** First voxel and number of voxels of each entry. */
  readonly entryFirst: Uint32Array;
  readonly entryCount: Uint16Array;
  /** First voxel of each cell of the cloud, and one past the last. */
  readonly cellFirst: Uint32Array;
  /** Lower left corner of the cell grid. [m] */
  readonly origin: readonly [number, number];
  /** Neighbours once they are listed. */
  listed: ListedNeighbours | null;
}

/** Neighbours of voxel v: `list[first[v]]` up to `list[first[v + 1]]`; none for voxels that were left out. */
export interface ListedNeighbours {
  readonly first: Uint32Array;
  readonly list: Uint32Array;
}

/** Stands in shared memory where the cloud does. */
export function buildVoxelTable(cloud: Cloud, voxels: VoxelSize, cells: readonly CellVoxels[]): VoxelTable {
  const { perCell, size } = voxels;
  const stride = perCell + 2;
  const entries = stride * stride;
  const cellFirst = new Uint32Array(cells.length + 1);
  for (let c = 0; c < cells.length; c++) cellFirst[c + 1] = cellFirst[c]! + cells[c]!.count;
  const count = cellFirst[cells.length]!;
  const shared = isShared(cloud.cells[0]!.positions);
  const table = {
    size,
    count,
    stride,
    cellFirst,
    origin: cloud.grid.origin,
    sums: roomFor(Float64Array, MOMENTS * count, shared),
    means: roomFor(Float64Array, 3 * count, shared),
    x: roomFor(Int32Array, count, shared),
    y: roomFor(Int32Array, count, shared),
    level: roomFor(Int32Array, count, shared),
    entry: roomFor(Uint32Array, count, shared),
    entryFirst: roomFor(Uint32Array, entries * cells.length, shared),
    entryCount: roomFor(Uint16Array, entries * cells.length, shared),
    listed: null,
  };
  for (let c = 0; c < cells.length; c++) placeCell(table, cloud, perCell, c, cells[c]!);
  fillRims(table, cloud, perCell);
  return table;
}

function placeCell(table: VoxelTable, cloud: Cloud, perCell: number, c: number, cell: CellVoxels): void {
  const { size, stride, means, sums } = table;
  const first = table.cellFirst[c]!;
  const left = cloud.cells[c]!.column * perCell;
  const bottom = cloud.cells[c]!.row * perCell;
  sums.set(cell.sums, MOMENTS * first);
  table.level.set(cell.levels, first);
  const { columns, levels, count } = cell;
  const { x, y, entry, entryFirst, entryCount } = table;
  const x0 = table.origin[0];
  const y0 = table.origin[1];
  for (let k = 0; k < count; k++) {
    const v = first + k;
    const vx = columns[k]! % perCell;
    const vy = (columns[k]! - vx) / perCell;
    x[v] = left + vx;
    y[v] = bottom + vy;
    const at = c * stride * stride + (vy + 1) * stride + vx + 1;
    entry[v] = at;
    if (entryCount[at]!++ === 0) entryFirst[at] = v;
    const o = MOMENTS * v;
    const share = 1 / sums[o]!;
    means[3 * v] = x0 + (left + vx + 0.5) * size + sums[o + 1]! * share;
    means[3 * v + 1] = y0 + (bottom + vy + 0.5) * size + sums[o + 2]! * share;
    means[3 * v + 2] = (levels[k]! + 0.5) * size + sums[o + 3]! * share;
  }
}

/** Copies the outermost columns of every cell into the rims of its eight neighbours. */
function fillRims(table: VoxelTable, cloud: Cloud, perCell: number): void {
  const { columns } = cloud.grid;
  const indexOf = new Map<number, number>();
  cloud.cells.forEach((cell, c) => indexOf.set(cell.row * columns + cell.column, c));
  cloud.cells.forEach((cell, c) => {
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        const beside = cell.column + dx;
        if ((dx === 0 && dy === 0) || beside < 0 || beside >= columns) continue;
        const other = indexOf.get((cell.row + dy) * columns + beside);
        if (other !== undefined) copyRim(table, perCell, c, other, dx, dy);
      }
    }
  });
}

function copyRim(table: VoxelTable, perCell: number, to: number, from: number, dx: number, dy: number): void {
  const { stride, entryFirst, entryCount } = table;
  // Rim places of the receiving cell, 0 and perCell + 1 being the rim itself.
  const range = (d: number): [number, number] => (d < 0 ? [0, 0] : d > 0 ? [perCell + 1, perCell + 1] : [1, perCell]);
  const [x0, x1] = range(dx);
  const [y0, y1] = range(dy);
  for (let y = y0; y <= y1; y++) {
    for (let x = x0; x <= x1; x++) {
      const target = to * stride * stride + y * stride + x;
      const source = from * stride * stride + (y - dy * perCell) * stride + (x - dx * perCell);
      entryFirst[target] = entryFirst[source]!;
      entryCount[target] = entryCount[source]!;
    }
  }
}

/**
 * Keeps the neighbours of voxels in the table, as every stage asks for them again.
 *
 * @param parts  How many each voxel has, and which, for the voxels in their order.
 */
export function listNeighbours(table: VoxelTable, parts: readonly { readonly counts: Uint8Array; readonly list: Uint32Array }[]): void {
  const shared = isShared(table.sums);
  const first = roomFor(Uint32Array, table.count + 1, shared);
  const list = roomFor(Uint32Array, parts.reduce((sum, part) => sum + part.list.length, 0), shared);
  let v = 0;
  let filled = 0;
  for (const part of parts) {
    const { counts } = part;
    list.set(part.list, filled);
    for (let i = 0; i < counts.length; i++) {
      filled += counts[i]!;
      first[++v] = filled;
    }
  }
  table.listed = { first, list };
}

/** Neighbours as they are kept; listed here and now for a table whose surroundings nobody has pooled. */
export function keptNeighbours(table: VoxelTable): ListedNeighbours {
  if (!table.listed) {
    const near = new Int32Array(26);
    const counts = new Uint8Array(table.count);
    const list: number[] = [];
    for (let v = 0; v < table.count; v++) {
      counts[v] = searchNeighbours(table, v, near);
      for (let k = 0; k < counts[v]!; k++) list.push(near[k]!);
    }
    listNeighbours(table, [{ counts, list: Uint32Array.from(list) }]);
  }
  return table.listed!;
}

/**
 * Lists the occupied voxels among the 26 around one, in a fixed order.
 *
 * @param out  At least 26 long; filled from the front.
 * @returns How many there are.
 */
export function neighboursOf(table: VoxelTable, v: number, out: Int32Array): number {
  const { listed } = table;
  if (listed !== null) {
    const begin = listed.first[v]!;
    const found = listed.first[v + 1]! - begin;
    for (let k = 0; k < found; k++) out[k] = listed.list[begin + k]!;
    // One that was left out has none in the list.
    if (found > 0) return found;
  }
  return searchNeighbours(table, v, out);
}

function searchNeighbours(table: VoxelTable, v: number, out: Int32Array): number {
  const { entryFirst, entryCount, level, stride } = table;
  const here = table.entry[v]!;
  const low = level[v]! - 1;
  let found = 0;
  for (let dy = -stride; dy <= stride; dy += stride) {
    for (let dx = -1; dx <= 1; dx++) {
      const entry = here + dy + dx;
      const count = entryCount[entry]!;
      if (count === 0) continue;
      let k = entryFirst[entry]!;
      const end = k + count;
      if (count > 6) k = firstAtLeast(level, k, end, low);
      else while (k < end && level[k]! < low) k++;
      for (; k < end && level[k]! <= low + 2; k++) if (k !== v) out[found++] = k;
    }
  }
  return found;
}

function firstAtLeast(level: Int32Array, begin: number, end: number, wanted: number): number {
  let low = begin;
  let high = end;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (level[middle]! < wanted) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Adds the moments of voxel `v` to `into`, which holds moments about the centre of voxel `about`. */
export function addMoments(table: VoxelTable, v: number, about: number, into: Float64Array): void {
  const { sums, size } = table;
  const dx = (table.x[v]! - table.x[about]!) * size;
  const dy = (table.y[v]! - table.y[about]!) * size;
  const dz = (table.level[v]! - table.level[about]!) * size;
  const o = MOMENTS * v;
  const n = sums[o]!;
  const sx = sums[o + 1]!;
  const sy = sums[o + 2]!;
  const sz = sums[o + 3]!;
  into[0]! += n;
  into[1]! += sx + n * dx;
  into[2]! += sy + n * dy;
  into[3]! += sz + n * dz;
  into[4]! += sums[o + 4]! + dx * (2 * sx + n * dx);
  into[5]! += sums[o + 5]! + dx * sy + dy * sx + n * dx * dy;
  into[6]! += sums[o + 6]! + dx * sz + dz * sx + n * dx * dz;
  into[7]! += sums[o + 7]! + dy * (2 * sy + n * dy);
  into[8]! += sums[o + 8]! + dy * sz + dz * sy + n * dy * dz;
  into[9]! += sums[o + 9]! + dz * (2 * sz + n * dz);
}

/** Centre of a voxel, local frame, one axis at a time. [m] */
export const centreX = (table: VoxelTable, v: number): number => table.origin[0] + (table.x[v]! + 0.5) * table.size;
export const centreY = (table: VoxelTable, v: number): number => table.origin[1] + (table.y[v]! + 0.5) * table.size;
export const centreZ = (table: VoxelTable, v: number): number => (table.level[v]! + 0.5) * table.size;
