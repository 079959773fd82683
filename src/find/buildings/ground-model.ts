import { filledIn } from './fill-ground.ts';
import type { GroundModel } from '../segmentation.ts';
import { groundLayer } from './ground-layer.ts';
import { groundCells, smoothPieces } from './ground-pieces.ts';
import { lowSurface } from './low-surface.ts';
import { runsBelowRoofs } from './roofs-above.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';

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
  const elevation = ground ? filledIn({ ...low, elevation: groundLayer(table, low) }, ground) : new Float32Array(low.elevation.length).fill(NaN);
  return { origin: low.origin, cellSize: low.cellSize, columns: low.columns, rows: low.rows, elevation, seen };
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
