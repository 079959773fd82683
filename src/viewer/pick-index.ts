import type { Cell, Cloud } from '../cloud/cloud.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';

/** Columns of a cell to one side: some hundred points in each. */
const SIDE = 24;
/** Of a cell that is not sorted yet a pick looks at this many points: an even sample. */
const UNSORTED_LOOKED_AT = 6000;

/** Points of one cell sorted into small columns, with the box each of them really fills. */
interface SortedCell {
  /** Numbers of the points, column by column. */
  readonly order: Uint32Array;
  /** Where each column begins in `order`, and where the last one ends. */
  readonly starts: Uint32Array;
  /** Least x, y, z and greatest x, y, z of each column, and last of the whole cell, from the cell's origin. [m] */
  readonly boxes: Float32Array;
}

const COLUMNS = SIDE * SIDE;

/**
 * Finds the points near a line of sight without looking at all of them. Cells are sorted one at a time, in the time the
 * page has to spare; until a cell has been, an even sample of it stands in.
 */
export class PickIndex {
  private readonly sorted: (SortedCell | null)[];
  private next = 0;

  constructor(private readonly cloud: Cloud) {
    this.sorted = cloud.cells.map(() => null);
  }

  /** Sorts cells until there is no more time. @returns False when all are sorted. */
  sortWhile(hasTime: () => boolean): boolean {
    while (this.next < this.sorted.length && hasTime()) {
      this.sorted[this.next] ??= sortCell(this.cloud.cells[this.next]!, this.cloud.grid.cellSize);
      this.next++;
    }
    return this.next < this.sorted.length;
  }

  /**
   * Calls for the points that may lie within a reach of the line of sight; the caller looks closer.
   *
   * @param depth  Only what lies this near to the ray's origin along it, to either side; null for all. [m]
   * @param most  Where there are more, an even sample of about so many is offered.
   */
  forEachNear(ray: PickRay, reachPixels: number, depth: number | null, most: number, take: (cell: Cell, index: number) => void): void {
    const reach = reachPixels * ray.metresPerPixel;
    const runs: Run[] = [];
    let total = 0;
    const offer = (cell: Cell, order: Uint32Array | null, from: number, to: number): void => {
      runs.push({ cell, order, from, to });
      total += to - from;
    };
    this.cloud.cells.forEach((cell, i) => {
      const sorted = this.sorted[i];
      if (!sorted) {
        if (mayMeet(ray, reach, depth, cell, this.cloud)) offer(cell, null, 0, Math.min(cell.pointCount, UNSORTED_LOOKED_AT));
      } else if (meetsBox(ray, reach, depth, cell, sorted.boxes, COLUMNS)) {
        const { order, starts, boxes } = sorted;
        for (let c = 0; c < COLUMNS; c++) {
          if (starts[c] !== starts[c + 1] && meetsBox(ray, reach, depth, cell, boxes, c)) offer(cell, order, starts[c]!, starts[c + 1]!);
        }
      }
    });
    const share = Math.min(1, most / Math.max(1, total));
    for (const { cell, order, from, to } of runs) {
      // Columns keep the thinning order of their cell, so the first of a column are an even sample of it.
      const end = from + Math.ceil((to - from) * share);
      for (let k = from; k < end; k++) take(cell, order ? order[k]! : k);
    }
  }
}

/** Some points of a cell, by their places in its order. */
interface Run {
  readonly cell: Cell;
  readonly order: Uint32Array | null;
  readonly from: number;
  readonly to: number;
}

/** By the square of a cell that is not sorted yet, as high as the cloud; a cell at the rim also holds what lies outside the grid. */
function mayMeet(ray: PickRay, reach: number, depth: number | null, cell: Cell, { grid, bounds }: Cloud): boolean {
  if (cell.column === 0 || cell.row === 0 || cell.column === grid.columns - 1 || cell.row === grid.rows - 1) return true;
  const z = cell.origin[2];
  return meetsBox(ray, reach, depth, cell, [0, 0, bounds.min[2] - z, grid.cellSize, grid.cellSize, bounds.max[2] - z], 0);
}

function sortCell(cell: Cell, cellSize: number): SortedCell {
  const { positions, pointCount } = cell;
  const perMetre = SIDE / cellSize;
  const columnOf = new Uint16Array(pointCount);
  const starts = new Uint32Array(COLUMNS + 1);
  const boxes = new Float32Array(6 * (COLUMNS + 1));
  for (let at = 0; at < boxes.length; at += 6) boxes.fill(Infinity, at, at + 3).fill(-Infinity, at + 3, at + 6);
  for (let i = 0; i < pointCount; i++) {
    const c = within(positions[3 * i + 1]! * perMetre) * SIDE + within(positions[3 * i]! * perMetre);
    columnOf[i] = c;
    starts[c + 1]!++;
    for (let axis = 0; axis < 3; axis++) {
      const value = positions[3 * i + axis]!;
      if (value < boxes[6 * c + axis]!) boxes[6 * c + axis] = value;
      if (value > boxes[6 * c + 3 + axis]!) boxes[6 * c + 3 + axis] = value;
    }
  }
  for (let c = 0; c < COLUMNS; c++) {
    for (let axis = 0; axis < 3; axis++) {
      boxes[6 * COLUMNS + axis] = Math.min(boxes[6 * COLUMNS + axis]!, boxes[6 * c + axis]!);
      boxes[6 * COLUMNS + 3 + axis] = Math.max(boxes[6 * COLUMNS + 3 + axis]!, boxes[6 * c + 3 + axis]!);
    }
  }
  for (let c = 0; c < COLUMNS; c++) starts[c + 1]! += starts[c]!;
  const filled = starts.slice();
  const order = new Uint32Array(pointCount);
  for (let i = 0; i < pointCount; i++) order[filled[columnOf[i]!]!++] = i;
  return { order, starts, boxes };
}

const within = (column: number): number => (column <= 0 ? 0 : column >= SIDE ? SIDE - 1 : Math.floor(column));

/** Whether a line of sight, as wide as the reach, meets the k-th of some boxes, which are counted from a cell's origin. */
function meetsBox({ origin, direction }: PickRay, reach: number, depth: number | null, cell: Cell, boxes: ArrayLike<number>, k: number): boolean {
  let enter = depth === null ? -Infinity : -depth;
  let leave = depth === null ? Infinity : depth;
  for (let axis = 0; axis < 3; axis++) {
    const from = origin[axis]! - cell.origin[axis]!;
    const along = direction[axis]!;
    const low = boxes[6 * k + axis]! - reach;
    const high = boxes[6 * k + 3 + axis]! + reach;
    if (Math.abs(along) < 1e-9) {
      if (from < low || from > high) return false;
      continue;
    }
    const t0 = (low - from) / along;
    const t1 = (high - from) / along;
    enter = Math.max(enter, Math.min(t0, t1));
    leave = Math.min(leave, Math.max(t0, t1));
  }
  return enter <= leave;
}
