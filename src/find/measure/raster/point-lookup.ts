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

/** Points of some cells, cell after cell, each cell's in a fixed order. Local frame. [m] */
export interface GatheredPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly label: Uint16Array;
  /** First point of each cell, and the end of the last. */
  readonly from: Uint32Array;
}

/** A lookup that also gives many cells at once: no call for every point. */
export interface PointGatherer extends PointLookup {
  gather(cells: readonly number[]): GatheredPoints;
}

export const tileKey = (column: number, row: number): number => row * 2 ** 20 + column;

export function pointLookup({ side, firstColumn, firstRow, columns }: RoofRaster, tiles: ReadonlyMap<number, PointTile>): PointGatherer {
  const tileOf = (k: number): PointTile | undefined =>
    tiles.get(tileKey(Math.floor((firstColumn + (k % columns)) / side), Math.floor((firstRow + Math.floor(k / columns)) / side)));
  /** Number of a cell within its tile. */
  const placeIn = ({ column, row }: PointTile, k: number): number =>
    (firstRow + Math.floor(k / columns) - row * side) * side + (firstColumn + (k % columns) - column * side);
  return {
    each(k, visit) {
      const tile = tileOf(k);
      if (!tile) return;
      const { cell, labels, start, order } = tile;
      const { positions, origin } = cell;
      const at = placeIn(tile, k);
      for (let j = start[at]!, end = start[at + 1]!; j < end; j++) {
        const i = order === null ? j : order[j]!;
        visit(positions[3 * i]! + origin[0], positions[3 * i + 1]! + origin[1], positions[3 * i + 2]! + origin[2], labels[i]!);
      }
    },
    gather(cells) {
      const from = new Uint32Array(cells.length + 1);
      cells.forEach((k, c) => {
        const tile = tileOf(k);
        const at = tile ? placeIn(tile, k) : 0;
        from[c + 1] = from[c]! + (tile ? tile.start[at + 1]! - tile.start[at]! : 0);
      });
      const count = from[cells.length]!;
      const found = { x: new Float64Array(count), y: new Float64Array(count), z: new Float64Array(count), label: new Uint16Array(count), from };
      cells.forEach((k, c) => {
        const tile = tileOf(k);
        if (tile) copyPoints(tile, tile.start[placeIn(tile, k)]!, found, from[c]!, from[c + 1]!);
      });
      return found;
    },
  };
}

function copyPoints({ cell: { positions, origin }, labels, order }: PointTile, first: number, { x, y, z, label }: GatheredPoints, begin: number, end: number): void {
  const ox = origin[0];
  const oy = origin[1];
  const oz = origin[2];
  for (let to = begin, j = first; to < end; to++, j++) {
    const i = order === null ? j : order[j]!;
    x[to] = positions[3 * i]! + ox;
    y[to] = positions[3 * i + 1]! + oy;
    z[to] = positions[3 * i + 2]! + oz;
    label[to] = labels[i]!;
  }
}
