/** Entries of the table: 64 levels for the widest cells of sparse clouds, hundreds for those of dense ones. */
const MOST_ENTRIES = 2 ** 22;

/**
 * Number of a voxel by its column and level, for one cell at a time: a flat table of the levels that matter, and a map for what
 * lies far above or below them. A look into the table needs no search and no guess of the processor's, which points in thinning
 * order would prove wrong every other time.
 */
export class VoxelFinder {
  /** Numbers of voxels, `height` a column; all -1 between two cells. */
  private table = new Int32Array(0);
  private far = new Map<number, number>();
  private base = 0;
  private height = 0;

  /**
   * Makes room for a cell.
   *
   * @param low  Lowest level. @param high  Highest. @param middle  Where most voxels lie, should not all levels find room.
   */
  begin(columns: number, low: number, high: number, middle: number): void {
    const most = Math.max(1, Math.floor(MOST_ENTRIES / columns));
    const all = high - low + 1;
    this.height = Math.min(most, all);
    this.base = all <= most ? low : middle - (this.height >> 1);
    const entries = columns * this.height;
    if (this.table.length < entries) this.table = new Int32Array(Math.ceil(1.25 * entries)).fill(-1);
  }

  /** -1 for none. */
  find(column: number, level: number): number {
    const above = (level - this.base) >>> 0;
    return above < this.height ? this.table[column * this.height + above]! : this.findFar(column, level);
  }

  put(column: number, level: number, voxel: number): void {
    const above = level - this.base;
    if (above >= 0 && above < this.height) this.table[column * this.height + above] = voxel;
    else this.far.set(keyOf(column, level), voxel);
  }

  /** Forgets the first `count` voxels of these. */
  end(columns: Uint32Array, levels: Int32Array, count: number): void {
    for (let k = 0; k < count; k++) {
      const above = levels[k]! - this.base;
      if (above >= 0 && above < this.height) this.table[columns[k]! * this.height + above] = -1;
    }
    this.far.clear();
  }

  private findFar(column: number, level: number): number {
    return this.far.get(keyOf(column, level)) ?? -1;
  }
}

/** Levels are 32-bit integers, columns fewer than 2²³: exact in a double only for levels below 2²⁹, which 80 000 km fill. */
const keyOf = (column: number, level: number): number => level * 2 ** 23 + column;
