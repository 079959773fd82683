import type { Cell } from '../../../cloud/cloud.ts';
import type { RoofRaster } from './roof-raster.ts';
import type { TileAnswer } from './tile-sums.ts';

/** Points of a tile by raster cell. */
export interface PointTile extends Pick<TileAnswer, 'start' | 'order'> {
  readonly column: number;
  readonly row: number;
  readonly cell: Pick<Cell, 'origin' | 'positions'>;
  readonly labels: Uint16Array;
}

/** One tile with the points it was summed from. */
export interface Tile extends PointTile, TileAnswer {
  readonly cell: Cell;
}

/** Points of a building by raster cell. */
export interface PointLookup {
  /** Calls back with every point of a raster cell, in a fixed order. Local frame. [m] */
  each(cell: number, visit: (x: number, y: number, z: number, label: number) => void): void;
}

export const tileKey = (column: number, row: number): number => row * 2 ** 20 + column;

export function pointLookup({ side, firstColumn, firstRow, columns }: RoofRaster, tiles: ReadonlyMap<number, PointTile>): PointLookup {
  return {
    each(k, visit) {
      const x = firstColumn + (k % columns);
      const y = firstRow + Math.floor(k / columns);
      const [column, row] = [Math.floor(x / side), Math.floor(y / side)];
      const tile = tiles.get(tileKey(column, row));
      if (!tile) return;
      const { cell, labels, start, order } = tile;
      const { positions, origin } = cell;
      const at = (y - row * side) * side + (x - column * side);
      for (let j = start[at]!, end = start[at + 1]!; j < end; j++) {
        const i = order[j]!;
        visit(positions[3 * i]! + origin[0], positions[3 * i + 1]! + origin[1], positions[3 * i + 2]! + origin[2], labels[i]!);
      }
    },
  };
}
