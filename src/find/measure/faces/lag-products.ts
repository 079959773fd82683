import { LAGS } from './residual-correlation.ts';
import type { FitSums } from './fit-cells.ts';

/**
 * Residual sums and point counts of cell pairs of one face, multiplied and summed for every lag over four directions. The
 * cells are laid out in their own box with zeros around them: a pair that lacks a cell then adds nothing, and no cell asks
 * whether its partner belongs to the face.
 *
 * @param cells  Of one face, in the order of the raster.
 * @param residual  By cell of the raster.
 */
export function lagProducts({ columns, count }: Pick<FitSums, 'columns' | 'count'>, cells: readonly number[], residual: Float32Array): { products: Float64Array; pairs: Float64Array } {
  const products = new Float64Array(LAGS.length);
  const pairs = new Float64Array(LAGS.length);
  const { left, bottom, width, height } = boxOf(columns, cells);
  const residuals = new Float64Array(width * height);
  const counts = new Float64Array(width * height);
  const begin = new Int32Array(height).fill(width);
  const end = new Int32Array(height).fill(-1);
  for (const k of cells) {
    const y = Math.floor(k / columns) - bottom;
    const x = (k % columns) - left;
    residuals[y * width + x] = residual[k]!;
    counts[y * width + x] = count[k]!;
    if (x < begin[y]!) begin[y] = x;
    end[y] = x;
  }
  LAGS.forEach((lag, j) => {
    const slant = Math.round(lag / Math.SQRT2);
    let [product, pair] = [0, 0];
    for (let direction = 0; direction < 4; direction++) {
      const dx = direction === 0 ? lag : direction === 1 ? 0 : slant;
      const dy = direction === 0 ? 0 : direction === 1 ? lag : direction === 2 ? slant : -slant;
      if (dx === 1 && dy !== 0) continue;
      const shift = dy * width + dx;
      for (let y = Math.max(0, -dy); y < height - Math.max(0, dy); y++) {
        // Between the ends of both rows: the box of a face that stands askew is half empty.
        const from = y * width + Math.max(begin[y]!, begin[y + dy]! - dx);
        const last = y * width + Math.min(end[y]!, end[y + dy]! - dx);
        for (let k = from; k <= last; k++) {
          product += residuals[k]! * residuals[k + shift]!;
          pair += counts[k]! * counts[k + shift]!;
        }
      }
    }
    products[j] = product;
    pairs[j] = pair;
  });
  return { products, pairs };
}

function boxOf(columns: number, cells: readonly number[]): { left: number; bottom: number; width: number; height: number } {
  if (cells.length === 0) return { left: 0, bottom: 0, width: 0, height: 0 };
  let [left, right] = [columns, 0];
  for (const k of cells) {
    const x = k % columns;
    if (x < left) left = x;
    if (x > right) right = x;
  }
  const bottom = Math.floor(cells[0]! / columns);
  return { left, bottom, width: right - left + 1, height: Math.floor(cells.at(-1)! / columns) - bottom + 1 };
}
