import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { GroundModel } from '../segmentation.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

/** Wanted edge of a raster cell. Smaller costs time, larger blurs the drop at an eave. [m] */
const RASTER_CELL = 0.5;
/** Steps that still count as one surface: a fixed part for roughness and a slope part (50 %, steeper than built terrain). */
const STEP = 0.25;
const STEEPEST = 0.5;
/** A drop that only a building or a tree makes; quays and retaining walls are mostly lower. [m] */
const DROP = 1.9;
/** How far beyond the rim of a surface the drop may lie: an overhang, a parapet, a shadow without points. [m] */
const DROP_REACH = 2.5;

/** Share of the points over a raster cell that makes a surface. */
const LEAST_SHARE = 0.04;
/** Share of the voxels of one level in a raster cell that makes a floor. */
const FLOOR_SHARE = 0.7;
/** Voxel levels that are told apart: more than any building has. */
const LEVELS = 4096;

/** Raster cells that make a floor one can drop onto. */
const SMALLEST_FLOOR = 6;

/** Lowest solid surface of the cloud on a raster, in smooth pieces. */
interface LowSurface {
  readonly columns: number;
  readonly rows: number;
  readonly cellSize: number;
  readonly origin: readonly [number, number];
  /** NaN where no point fell. */
  readonly elevation: Float32Array;
}

/**
 * Finds the ground: the lowest surface on a half-metre raster is cut at steps into smooth pieces; a piece whose rim has
 * something much lower beside it stands on something (a roof of any size, a tree), every other piece is ground.
 * Morphological filters with a fixed window (Pingel, Clarke, McBride 2013) lose a roof larger than the window; a
 * piece-wise rule has no window.
 *
 * A cloud of roofs alone has no step down to anything, or hardly any: then `seen` is false and nothing is ground.
 */
export function modelGround(table: VoxelTable): GroundModel {
  const low = lowSurface(table);
  const piece = smoothPieces(low);
  const ground = groundCells(low, piece, () => runsBelowRoofs(table, low));
  const seen = ground !== null;
  const elevation = ground ? filledIn(low, ground) : new Float32Array(low.elevation.length).fill(NaN);
  return { origin: low.origin, cellSize: low.cellSize, columns: low.columns, rows: low.rows, elevation, seen };
}

function lowSurface(table: VoxelTable): LowSurface {
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

/** Number of the smooth piece each raster cell belongs to, -1 without data; pieces are numbered from the south-west. */
function smoothPieces(low: LowSurface): Int32Array {
  const { columns, rows, elevation, cellSize } = low;
  const most = STEP + STEEPEST * cellSize;
  const piece = new Int32Array(columns * rows).fill(-1);
  const stack: number[] = [];
  let pieces = 0;
  for (let start = 0; start < piece.length; start++) {
    if (piece[start]! >= 0 || Number.isNaN(elevation[start]!)) continue;
    piece[start] = pieces;
    stack.push(start);
    while (stack.length > 0) {
      const k = stack.pop()!;
      const x = k % columns;
      const visit = (beside: number): void => {
        if (piece[beside]! >= 0 || !(Math.abs(elevation[beside]! - elevation[k]!) <= most)) return;
        piece[beside] = pieces;
        stack.push(beside);
      };
      if (x > 0) visit(k - 1);
      if (x + 1 < columns) visit(k + 1);
      if (k >= columns) visit(k - columns);
      if (k + columns < piece.length) visit(k + columns);
    }
    pieces++;
  }
  return piece;
}

/**
 * 1 for ground cells; null when the cloud shows no ground.
 *
 * @param runsBelow  Whether the lowest surface runs on below roofs, as it does in a mesh that was drawn and not photographed.
 */
function groundCells(low: LowSurface, piece: Int32Array, runsBelow: () => boolean): Uint8Array | null {
  const { columns, rows, elevation, cellSize } = low;
  const pieces = piece.reduce((most, p) => Math.max(most, p), -1) + 1;
  const rim = new Uint32Array(pieces);
  const dropping = new Uint32Array(pieces);
  const open = new Uint32Array(pieces);
  const cells = new Uint32Array(pieces);
  const reach = Math.ceil(DROP_REACH / cellSize);
  for (const p of piece) if (p >= 0) cells[p]!++;
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const k = y * columns + x;
      const p = piece[k]!;
      if (p < 0) continue;
      const beside = (dx: number, dy: number): number =>
        x + dx < 0 || x + dx >= columns || y + dy < 0 || y + dy >= rows ? -2 : piece[k + dy * columns + dx]!;
      const around = [beside(-1, 0), beside(1, 0), beside(0, -1), beside(0, 1)];
      if (around.every((other) => other === p)) continue;
      rim[p]!++;
      let drops = false;
      let seesData = false;
      for (let dy = -reach; dy <= reach && !drops; dy++) {
        for (let dx = -reach; dx <= reach && !drops; dx++) {
          const other = beside(dx, dy);
          // A few cells by themselves are noise; nothing drops onto them.
          if (other < 0 || other === p || cells[other]! < SMALLEST_FLOOR) continue;
          seesData = true;
          drops = elevation[k + dy * columns + dx]! < elevation[k]! - DROP;
        }
      }
      if (drops) dropping[p]!++;
      else if (!seesData) open[p]!++;
    }
  }
  const isGround = new Uint8Array(pieces);
  let raisedRim = 0;
  let raisedDrop = 0;
  let groundSize = 0;
  for (let p = 0; p < pieces; p++) {
    isGround[p] = dropping[p]! < 0.25 * (rim[p]! - open[p]!) || dropping[p]! < 0.02 * rim[p]! ? 1 : 0;
    if (cells[p]! * cellSize * cellSize < 4) isGround[p] = 0;
    if (isGround[p]) groundSize += cells[p]!;
    else if (cells[p]! * cellSize * cellSize >= 4) {
      raisedRim += rim[p]!;
      raisedDrop += dropping[p]!;
    }
  }
  // Ground surrounds what stands on it. Where most of the raised rims look into nothing, the low piece is a lower roof.
  if (groundSize === 0) return null;
  if ((raisedDrop < 0.35 * raisedRim || raisedRim === 0) && !runsBelow()) return null;
  return Uint8Array.from(piece, (p) => (p >= 0 ? isGround[p]! : 0));
}

/** A roof over ground that reaches beyond it is at least this large; one over a floor of its own at least so large. [m²] */
const SMALLEST_COVER = 12;
const SMALLEST_OVER_FLOOR = 1.5;
/** Share of what stands over the lowest surface that must be smooth: crowns of trees are not. */
const SMOOTH_SHARE = 0.5;
/** A cover is smooth where it bends by no more than this from cell to cell. [m] */
const SMOOTH_BEND = 0.12;

/** Smooth covers high over the lowest surface: that runs on below roofs, and no roof runs on below another. */
function runsBelowRoofs(table: VoxelTable, { columns, rows, elevation, cellSize, origin }: LowSurface): boolean {
  const cellOf = (v: number): number => Math.floor((table.means[3 * v + 1]! - origin[1]) / cellSize) * columns + Math.floor((table.means[3 * v]! - origin[0]) / cellSize);
  const highest = new Float64Array(elevation.length);
  for (let v = 0; v < table.count; v++) highest[cellOf(v)] = Math.max(highest[cellOf(v)]!, table.means[3 * v + 2]! - elevation[cellOf(v)]!);
  const points = new Float64Array(elevation.length);
  const heights = new Float64Array(elevation.length);
  for (let v = 0; v < table.count; v++) {
    const k = cellOf(v);
    const above = table.means[3 * v + 2]! - elevation[k]!;
    if (!(above > DROP) || above < highest[k]! - cellSize) continue;
    points[k]! += table.sums[MOMENTS * v]!;
    heights[k]! += table.sums[MOMENTS * v]! * table.means[3 * v + 2]!;
  }
  const cover = heights.map((sum, k) => sum / points[k]!);
  let [seen, covered, looked, smooth] = [0, 0, 0, 0];
  for (let k = 0; k < cover.length; k++) {
    if (!Number.isNaN(elevation[k]!)) seen++;
    if (points[k] === 0) continue;
    covered++;
    const [x, y] = [k % columns, Math.floor(k / columns)];
    if (x === 0 || y === 0 || x + 1 === columns || y + 1 === rows) continue;
    const bends = [cover[k - 1]! + cover[k + 1]! - 2 * cover[k]!, cover[k - columns]! + cover[k + columns]! - 2 * cover[k]!];
    for (const bend of bends) {
      if (Number.isNaN(bend)) continue;
      looked++;
      if (Math.abs(bend) < SMOOTH_BEND) smooth++;
    }
  }
  const least = 2 * covered > seen ? SMALLEST_OVER_FLOOR : SMALLEST_COVER;
  return (smooth / 2) * cellSize * cellSize >= least && smooth >= SMOOTH_SHARE * looked;
}

/** Ground heights with the gaps filled from their rims inward, ring by ring. */
function filledIn(low: LowSurface, ground: Uint8Array): Float32Array {
  const { columns, rows } = low;
  const filled = new Float32Array(low.elevation.length).fill(NaN);
  let front: number[] = [];
  for (let k = 0; k < filled.length; k++) if (ground[k]) filled[k] = low.elevation[k]!;
  const beside = (k: number): number[] => {
    const x = k % columns;
    const list: number[] = [];
    if (x > 0) list.push(k - 1);
    if (x + 1 < columns) list.push(k + 1);
    if (k >= columns) list.push(k - columns);
    if (k + columns < columns * rows) list.push(k + columns);
    return list;
  };
  const queued = new Uint8Array(filled.length);
  const extend = (k: number): void => {
    for (const other of beside(k)) {
      if (queued[other] || !Number.isNaN(filled[other]!)) continue;
      queued[other] = 1;
      front.push(other);
    }
  };
  for (let k = 0; k < filled.length; k++) if (ground[k]) extend(k);
  while (front.length > 0) {
    const ring = front;
    front = [];
    const values = ring.map((k) => {
      let sum = 0;
      let count = 0;
      for (const other of beside(k)) {
        if (Number.isNaN(filled[other]!)) continue;
        sum += filled[other]!;
        count++;
      }
      return sum / count;
    });
    ring.forEach((k, i) => (filled[k] = values[i]!));
    ring.forEach(extend);
  }
  return filled;
}

/** Voxels lower than this above the ground are part of it: grass, kerbs, the foot of a wall. [m] */
const GROUND_COVER = 0.8;

/** 1 for voxels that belong to the ground and whose planes nobody asks for; all 0 when no ground is seen. */
export function groundVoxels(table: VoxelTable, ground: GroundModel): Uint8Array {
  const isGround = new Uint8Array(table.count);
  if (!ground.seen) return isGround;
  for (let v = 0; v < table.count; v++) {
    const height = table.means[3 * v + 2]! - groundAt(ground, table.means[3 * v]!, table.means[3 * v + 1]!);
    if (height < GROUND_COVER) isGround[v] = 1;
  }
  return isGround;
}

/** Ground height below a plan position; NaN outside the raster or where it is unknown. [m] */
export function groundAt(ground: GroundModel, x: number, y: number): number {
  const column = Math.floor((x - ground.origin[0]) / ground.cellSize);
  const row = Math.floor((y - ground.origin[1]) / ground.cellSize);
  if (column < 0 || row < 0 || column >= ground.columns || row >= ground.rows) return NaN;
  return ground.elevation[row * ground.columns + column]!;
}
