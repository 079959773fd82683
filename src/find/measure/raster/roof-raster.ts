import type { Plane } from '../../../geometry/plane.ts';
import { tileKey, type Tile } from './point-lookup.ts';
import { emptySums, type TileSums } from './tile-sums.ts';

/** Where a raster lies: cell (0, 0) has its lower left corner at `origin`. */
export interface RasterFrame {
  /** Local frame. [m] */
  readonly origin: readonly [number, number];
  /** [m] */
  readonly step: number;
  readonly columns: number;
  readonly rows: number;
}

/** One building's part of the fine plan raster, with the face each cell belongs to. */
export interface RoofRaster extends RasterFrame, TileSums {
  /** Column and row of cell (0, 0) counted over the whole cloud's fine raster; and fine cells along a tile's side. */
  readonly firstColumn: number;
  readonly firstRow: number;
  readonly side: number;
  /** Faces 1, 2, 3 …; 0 where there is no roof. Not the segments' labels: a segment in two pieces makes two faces. */
  readonly face: Uint16Array;
  /** Non-zero where another building's roof is. */
  readonly foreign: Uint8Array;
  /** Non-zero where the cell was given to its face although no point of the face lies in it. */
  readonly filled: Uint8Array;
}

/** What a face is made from. */
export interface Face {
  readonly number: number;
  readonly label: number;
  readonly plane: Plane;
}

export const cellCentre = (frame: RasterFrame, k: number): [number, number] => [
  frame.origin[0] + ((k % frame.columns) + 0.5) * frame.step,
  frame.origin[1] + (Math.floor(k / frame.columns) + 0.5) * frame.step,
];

/** Cells left free around a building, so that what stands or lies beside the roof is seen too. [m] */
const MARGIN = 1.2;

/** Numbers a label takes in `labelBoxes`: least x, least y, greatest x, greatest y. */
const BOX = 4;

/** The fine raster cells in which each label is seen most, as boxes over the whole raster; one pass for all labels. */
export function labelBoxes(tiles: ReadonlyMap<number, Tile>, side: number, labelCount: number): Int32Array {
  const boxes = new Int32Array(BOX * labelCount);
  for (let o = 0; o < boxes.length; o += BOX) boxes.set([MOST_CELLS, MOST_CELLS, -MOST_CELLS, -MOST_CELLS], o);
  for (const { column, row, sums } of tiles.values()) {
    for (let k = 0; k < sums.label.length; k++) {
      if (sums.count[k] === 0) continue;
      const o = BOX * sums.label[k]!;
      const x = column * side + (k % side);
      const y = row * side + Math.floor(k / side);
      if (x < boxes[o]!) boxes[o] = x;
      if (y < boxes[o + 1]!) boxes[o + 1] = y;
      if (x > boxes[o + 2]!) boxes[o + 2] = x;
      if (y > boxes[o + 3]!) boxes[o + 3] = y;
    }
  }
  return boxes;
}

const MOST_CELLS = 2 ** 31 - 1;

/**
 * Copies a building's part out of the tiles.
 *
 * @param boxes  Of `labelBoxes`.
 * @param ownLabels  Non-zero at the labels of the building's segments.
 * @returns null when no cell holds one of them.
 */
export function cutOutRaster(
  tiles: ReadonlyMap<number, Tile>,
  boxes: Int32Array,
  grid: { readonly origin: readonly [number, number]; readonly cellSize: number; readonly columns: number },
  side: number,
  ownLabels: Uint8Array,
): RoofRaster | null {
  const step = grid.cellSize / side;
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let label = 0; label < ownLabels.length; label++) {
    const o = BOX * label;
    if (!ownLabels[label] || boxes[o]! > boxes[o + 2]!) continue;
    minX = Math.min(minX, boxes[o]!);
    minY = Math.min(minY, boxes[o + 1]!);
    maxX = Math.max(maxX, boxes[o + 2]!);
    maxY = Math.max(maxY, boxes[o + 3]!);
  }
  if (minX > maxX) return null;
  const margin = Math.max(4, Math.ceil(MARGIN / step));
  minX -= margin;
  minY -= margin;
  const columns = maxX - minX + margin + 1;
  const rows = maxY - minY + margin + 1;
  const raster = emptyRaster(
    { origin: [grid.origin[0] + minX * step, grid.origin[1] + minY * step], step, columns, rows },
    { firstColumn: minX, firstRow: minY, side },
  );
  for (let row = Math.floor(minY / side); row <= Math.floor((minY + rows - 1) / side); row++) {
    for (let column = Math.floor(minX / side); column <= Math.floor((minX + columns - 1) / side); column++) {
      const tile = tiles.get(tileKey(column, row));
      if (tile) copyTile(tile, raster);
    }
  }
  for (let k = 0; k < raster.label.length; k++) {
    if (raster.label[k] !== 0 && !ownLabels[raster.label[k]!]) raster.foreign[k] = 1;
  }
  return raster;
}

function copyTile({ column, row, sums }: Tile, raster: RoofRaster): void {
  const { side, firstColumn, firstRow, columns, rows } = raster;
  const fromX = Math.max(0, column * side - firstColumn);
  const toX = Math.min(columns, (column + 1) * side - firstColumn);
  const fromY = Math.max(0, row * side - firstRow);
  const toY = Math.min(rows, (row + 1) * side - firstRow);
  for (let y = fromY; y < toY; y++) {
    const from = (y + firstRow - row * side) * side + (fromX + firstColumn - column * side);
    copyRow(sums, from, raster, y * columns + fromX, toX - fromX);
  }
}

function emptyRaster(frame: RasterFrame, place: { firstColumn: number; firstRow: number; side: number }): RoofRaster {
  const size = frame.columns * frame.rows;
  return {
    ...frame,
    ...place,
    ...emptySums(size),
    face: new Uint16Array(size),
    foreign: new Uint8Array(size),
    filled: new Uint8Array(size),
  };
}

const ARRAYS = ['label', 'count', 'secondLabel', 'secondCount', 'sum', 'squares', 'looseCount', 'looseMean', 'looseLow', 'looseHigh'] as const;

function copyRow(from: TileSums, start: number, to: TileSums, at: number, count: number): void {
  if (count <= 0) return;
  for (const name of ARRAYS) to[name].set(from[name].subarray(start, start + count), at);
}

/** True where the cell's sums belong to the one label seen there. */
export const isPure = (raster: TileSums, k: number): boolean => raster.count[k]! > 0 && raster.secondCount[k] === 0;

/** Turns a label's points into loose ones: what was taken for a roof plane is a thing on one. */
export function loosenLabel(raster: RoofRaster, label: number, plane: Plane): void {
  const [a, b, c] = plane.normal;
  for (let k = 0; k < raster.label.length; k++) {
    if (raster.label[k] !== label || raster.count[k] === 0) continue;
    const [x, y] = cellCentre(raster, k);
    const n = raster.count[k]!;
    const away = isPure(raster, k) ? raster.sum[k]! / n : 0;
    const elevation = (away - (a * x + b * y + plane.offset)) / c;
    const before = raster.looseCount[k]!;
    raster.looseLow[k] = before ? Math.min(raster.looseLow[k]!, elevation) : elevation;
    raster.looseHigh[k] = before ? Math.max(raster.looseHigh[k]!, elevation) : elevation;
    raster.looseMean[k] = (raster.looseMean[k]! * before + elevation * n) / (before + n);
    raster.looseCount[k] = Math.min(65535, before + n);
    raster.label[k] = raster.secondLabel[k]!;
    raster.count[k] = raster.secondCount[k]!;
    raster.secondCount[k] = 0;
    raster.secondLabel[k] = 0;
    // The sums were the other label's; a mixed cell stays without.
    raster.sum[k] = 0;
    raster.squares[k] = 0;
    if (raster.count[k]! > 0) raster.secondCount[k] = 1;
  }
}
