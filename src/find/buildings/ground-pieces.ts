import type { LowSurface } from './low-surface.ts';

/** Steps that still count as one surface: a fixed part for roughness and a slope part (50 %, steeper than built terrain). */
const STEP = 0.25;
const STEEPEST = 0.5;
/** A drop that only a building or a tree makes; quays and retaining walls are mostly lower. [m] */
export const DROP = 1.9;
/** How far beyond the rim of a surface the drop may lie: an overhang, a parapet, a shadow without points. [m] */
const DROP_REACH = 2.5;
/** Raster cells that make a floor one can drop onto. */
const SMALLEST_FLOOR = 6;

/** Number of the smooth piece each raster cell belongs to, -1 without data; pieces are numbered from the south-west. */
export function smoothPieces(low: LowSurface): Int32Array {
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
export function groundCells(low: LowSurface, piece: Int32Array, runsBelow: () => boolean): Uint8Array | null {
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
