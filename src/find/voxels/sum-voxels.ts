import type { Cell } from '../../cloud/cloud.ts';

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

/** Levels that share one entry of a column's list; walls make tall columns and would make long lists otherwise. */
const LEVELS_PER_BLOCK = 8;

/**
 * Gathers the points of one cell into voxel moments: one pass, no neighbour search. A cell's points stand in an order
 * that depends on the points alone, so the rounding of the sums does too.
 */
export function sumVoxels({ cell, voxels }: SumVoxelsWork): CellVoxels {
  const { size, perCell } = voxels;
  const { positions, pointCount } = cell;
  const baseZ = cell.origin[2];
  const head = new Int32Array(perCell * perCell).fill(-1);
  let blocks = new BlockLists(1024);
  let slots = 0;
  let sums = new Float64Array(MOMENTS * 1024);
  let columns = new Uint32Array(1024);
  let levels = new Int32Array(1024);
  const inverse = 1 / size;
  const last = perCell - 1;
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
    const level = Math.floor(pz * inverse);
    const column = vy * perCell + vx;
    const key = level >> 3;
    let block = head[column]!;
    while (block >= 0 && blocks.key[block] !== key) block = blocks.next[block]!;
    if (block < 0) {
      if (blocks.count === blocks.key.length) blocks = blocks.grown();
      block = blocks.add(key, head[column]!);
      head[column] = block;
    }
    const place = LEVELS_PER_BLOCK * block + (level & 7);
    let slot = blocks.slots[place]!;
    if (slot < 0) {
      if (slots === columns.length) {
        sums = doubled(sums, Float64Array);
        columns = doubled(columns, Uint32Array);
        levels = doubled(levels, Int32Array);
      }
      slot = slots++;
      blocks.slots[place] = slot;
      columns[slot] = column;
      levels[slot] = level;
    }
    const x = px - (vx + 0.5) * size;
    const y = py - (vy + 0.5) * size;
    const z = pz - (level + 0.5) * size;
    const o = MOMENTS * slot;
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
  return inOrder(slots, head, blocks, columns, levels, sums);
}

/** Linked lists of blocks of levels, one list a column. */
class BlockLists {
  count = 0;
  readonly key: Int32Array;
  readonly next: Int32Array;
  readonly slots: Int32Array;

  constructor(capacity: number) {
    this.key = new Int32Array(capacity);
    this.next = new Int32Array(capacity);
    this.slots = new Int32Array(LEVELS_PER_BLOCK * capacity).fill(-1);
  }

  add(key: number, next: number): number {
    this.key[this.count] = key;
    this.next[this.count] = next;
    return this.count++;
  }

  grown(): BlockLists {
    const larger = new BlockLists(2 * this.key.length);
    larger.key.set(this.key);
    larger.next.set(this.next);
    larger.slots.set(this.slots);
    larger.count = this.count;
    return larger;
  }
}

function doubled<Values extends Float64Array | Uint32Array | Int32Array>(
  values: Values,
  make: new (length: number) => Values,
): Values {
  const larger = new make(2 * values.length);
  larger.set(values);
  return larger;
}

function inOrder(
  count: number,
  head: Int32Array,
  blocks: BlockLists,
  columns: Uint32Array,
  levels: Int32Array,
  sums: Float64Array,
): CellVoxels {
  const sorted = { count, columns: new Uint32Array(count), levels: new Int32Array(count), sums: new Float64Array(MOMENTS * count) };
  let filled = 0;
  const ofColumn: number[] = [];
  for (let column = 0; column < head.length; column++) {
    ofColumn.length = 0;
    for (let block = head[column]!; block >= 0; block = blocks.next[block]!) ofColumn.push(block);
    if (ofColumn.length > 1) ofColumn.sort((a, b) => blocks.key[a]! - blocks.key[b]!);
    for (const block of ofColumn) {
      for (let k = 0; k < LEVELS_PER_BLOCK; k++) {
        const slot = blocks.slots[LEVELS_PER_BLOCK * block + k]!;
        if (slot < 0) continue;
        sorted.columns[filled] = columns[slot]!;
        sorted.levels[filled] = levels[slot]!;
        for (let m = 0; m < MOMENTS; m++) sorted.sums[MOMENTS * filled + m] = sums[MOMENTS * slot + m]!;
        filled++;
      }
    }
  }
  return sorted;
}
