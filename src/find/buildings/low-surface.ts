import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

/** Wanted edge of a raster cell. Smaller costs time, larger blurs the drop at an eave. [m] */
const RASTER_CELL = 0.5;
/** Share of the points over a raster cell that makes a surface. */
const LEAST_SHARE = 0.04;
/** Share of the voxels of one level in a raster cell that makes a floor. */
const FLOOR_SHARE = 0.7;
/** Voxel levels that are told apart: more than any building has. */
const LEVELS = 4096;

/** Lowest solid surface of the cloud on a raster, in smooth pieces. */
export interface LowSurface {
  readonly columns: number;
  readonly rows: number;
  readonly cellSize: number;
  readonly origin: readonly [number, number];
  /** NaN where no point fell. */
  readonly elevation: Float32Array;
}

/** The lowest surface in which enough points lie, without pits. */
export function lowSurface(table: VoxelTable): LowSurface {
  const { count, sums, means, size } = table;
  const per = Math.max(1, Math.ceil(RASTER_CELL / size));
  let x0 = Infinity;
  let y0 = Infinity;
  let x1 = -Infinity;
  let y1 = -Infinity;
  const { x, y, level } = table;
  for (let v = 0; v < count; v++) {
    if (x[v]! < x0) x0 = x[v]!;
    if (x[v]! > x1) x1 = x[v]!;
    if (y[v]! < y0) y0 = y[v]!;
    if (y[v]! > y1) y1 = y[v]!;
  }
  const columns = Math.floor((x1 - x0) / per) + 1;
  const rows = Math.floor((y1 - y0) / per) + 1;
  const cellOf = new Uint32Array(count);
  const points = new Float32Array(columns * rows);
  for (let v = 0; v < count; v++) {
    cellOf[v] = Math.floor((y[v]! - y0) / per) * columns + Math.floor((x[v]! - x0) / per);
    points[cellOf[v]!]! += sums[MOMENTS * v]!;
  }
  const elevation = new Float32Array(columns * rows).fill(NaN);
  const lower = (k: number, z: number): void => {
    if (!(elevation[k]! <= z)) elevation[k] = z;
  };
  // A low quantile instead of the lowest point: reconstruction noise hangs below the ground. Where walls and roofs stand in the
  // same cell a floor has few of its points in each voxel, but lies in most voxels of its level, as no wall does.
  const thin: number[] = [];
  for (let v = 0; v < count; v++) {
    const k = cellOf[v]!;
    const n = sums[MOMENTS * v]!;
    if (n < 2 && points[k]! >= 16) continue;
    if (n >= LEAST_SHARE * points[k]!) lower(k, means[3 * v + 2]!);
    else {
      thin.push(v);
    }
  }
  eachOfFloors(thin, cellOf, columns * rows, level, FLOOR_SHARE * per * per, (v) => lower(cellOf[v]!, means[3 * v + 2]!));
  const low = {
    columns,
    rows,
    cellSize: per * size,
    origin: [table.origin[0] + x0 * size, table.origin[1] + y0 * size] as const,
    elevation,
  };
  removePits(low);
  return low;
}

/** Visits voxels of which so many lie in one level of one cell. */
function eachOfFloors(voxels: readonly number[], cellOf: Uint32Array, cells: number, level: Int32Array, least: number, visit: (v: number) => void): void {
  const next = new Uint32Array(cells + 1);
  for (let i = 0; i < voxels.length; i++) next[cellOf[voxels[i]!]! + 1]!++;
  for (let k = 0; k < cells; k++) next[k + 1]! += next[k]!;
  const byCell = new Uint32Array(voxels.length);
  for (let i = 0; i < voxels.length; i++) byCell[next[cellOf[voxels[i]!]!]!++] = voxels[i]!;
  const inLevel = new Uint16Array(LEVELS);
  for (let begin = 0, end = 0; begin < byCell.length; begin = end) {
    const k = cellOf[byCell[begin]!]!;
    for (; end < byCell.length && cellOf[byCell[end]!] === k; end++) inLevel[level[byCell[end]!]! & (LEVELS - 1)]!++;
    for (let i = begin; i < end; i++) if (inLevel[level[byCell[i]!]! & (LEVELS - 1)]! >= least) visit(byCell[i]!);
    for (let i = begin; i < end; i++) inLevel[level[byCell[i]!]! & (LEVELS - 1)] = 0;
  }
}

/** Empties cells that lie far below everything around them. */
function removePits(low: LowSurface): void {
  const { columns, rows, elevation } = low;
  const pits: number[] = [];
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const z = elevation[y * columns + x]!;
      let lowest = Infinity;
      for (let dy = -1; dy <= 1; dy++) {
        for (let dx = -1; dx <= 1; dx++) {
          if ((dx === 0 && dy === 0) || x + dx < 0 || x + dx >= columns || y + dy < 0 || y + dy >= rows) continue;
          const beside = elevation[(y + dy) * columns + x + dx]!;
          if (beside < lowest) lowest = beside;
        }
      }
      if (z < lowest - 1) pits.push(y * columns + x);
    }
  }
  for (const k of pits) elevation[k] = NaN;
}
