import { tileKey, type PointTile, type Tile } from './measure/raster/point-lookup.ts';
import type { RoofRaster } from './measure/raster/roof-raster.ts';

/**
 * Copies the points that lie in the cells of a raster out of the tiles they stand in, so that one building can be sent
 * elsewhere alone. They stand raster cell by raster cell, each in the order it had. Tiles whose points stand so already are
 * seen by all who work on them (`TileInput.mayReorder`): of those only the places are copied.
 */
export function cropTiles(raster: RoofRaster, tiles: ReadonlyMap<number, Tile>): PointTile[] {
  const { side, firstColumn, firstRow, columns, rows } = raster;
  const cropped: PointTile[] = [];
  const last = (first: number, count: number): number => Math.floor((first + count - 1) / side);
  for (let row = Math.floor(firstRow / side); row <= last(firstRow, rows); row++) {
    for (let column = Math.floor(firstColumn / side); column <= last(firstColumn, columns); column++) {
      const tile = tiles.get(tileKey(column, row));
      if (!tile) continue;
      if (tile.order === null) {
        cropped.push(tileInPlace(tile));
        continue;
      }
      const across = [Math.max(0, firstColumn - column * side), Math.min(side, firstColumn + columns - column * side)] as const;
      const along = [Math.max(0, firstRow - row * side), Math.min(side, firstRow + rows - row * side)] as const;
      cropped.push(cropTile(tile, tile.order, side, across, along));
    }
  }
  return cropped;
}

const tileInPlace = ({ column, row, cell: { origin, positions }, labels, start }: Tile): PointTile => ({ column, row, cell: { origin, positions }, labels, start: start.slice(), order: null });

type Range = readonly [from: number, to: number];

function cropTile({ column, row, cell, labels, start }: Tile, order: Uint32Array, side: number, across: Range, along: Range): PointTile {
  let count = 0;
  for (let y = along[0]; y < along[1]; y++) count += start[y * side + across[1]]! - start[y * side + across[0]]!;
  const kept = {
    column, row,
    cell: { origin: cell.origin, positions: new Float32Array(3 * count) },
    labels: new Uint16Array(count),
    start: new Uint32Array(side * side + 1),
    order: null,
  };
  const { positions } = kept.cell;
  let filled = 0;
  for (let y = 0, k = 0; y < side; y++) {
    const within = y >= along[0] && y < along[1];
    for (let x = 0; x < side; x++, k++) {
      kept.start[k] = filled;
      if (!within || x < across[0] || x >= across[1]) continue;
      for (let j = start[k]!, end = start[k + 1]!; j < end; j++, filled++) {
        const i = order[j]!;
        positions[3 * filled] = cell.positions[3 * i]!;
        positions[3 * filled + 1] = cell.positions[3 * i + 1]!;
        positions[3 * filled + 2] = cell.positions[3 * i + 2]!;
        kept.labels[filled] = labels[i]!;
      }
    }
  }
  kept.start[side * side] = filled;
  return kept;
}
