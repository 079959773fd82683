/** Sums over rectangles of a raster in constant time (Crow 1984, summed-area tables). */
export interface SummedRaster {
  readonly columns: number;
  readonly rows: number;
  readonly sums: Float64Array;
}

export function summedRaster(values: ArrayLike<number>, columns: number, rows: number): SummedRaster {
  const width = columns + 1;
  const sums = new Float64Array(width * (rows + 1));
  for (let y = 0; y < rows; y++) {
    let row = 0;
    for (let x = 0; x < columns; x++) {
      row += values[y * columns + x]!;
      sums[(y + 1) * width + x + 1] = sums[y * width + x + 1]! + row;
    }
  }
  return { columns, rows, sums };
}

/** Sum over columns x0 to x1 - 1 and rows y0 to y1 - 1; ranges reaching outside are cut. */
export function rectangleSum({ columns, rows, sums }: SummedRaster, x0: number, y0: number, x1: number, y1: number): number {
  const width = columns + 1;
  const [a, b] = [Math.max(0, x0), Math.min(columns, x1)];
  const [c, d] = [Math.max(0, y0), Math.min(rows, y1)];
  if (a >= b || c >= d) return 0;
  return sums[d * width + b]! - sums[c * width + b]! - sums[d * width + a]! + sums[c * width + a]!;
}
