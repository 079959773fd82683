/**
 * Distance from every cell to the nearest marked cell, centre to centre, in cells: exact, two passes of lower envelopes
 * of parabolas, linear in the number of cells (Felzenszwalb and Huttenlocher 2012, Theory of Computing 8:415).
 *
 * @param marked  Row by row, non-zero where marked.
 * @returns Squared distances, `columns × rows`; Infinity everywhere when nothing is marked. [cells²]
 */
export function distanceSquaredRaster(marked: ArrayLike<number>, columns: number, rows: number): Float32Array {
  const far = columns * columns + rows * rows + 1;
  const result = new Float32Array(columns * rows);
  for (let i = 0; i < result.length; i++) result[i] = marked[i] ? 0 : far;
  const longest = Math.max(columns, rows);
  const work = { line: new Float64Array(longest), apex: new Int32Array(longest), limit: new Float64Array(longest + 1) };
  for (let column = 0; column < columns; column++) transformLine(result, column, columns, rows, work);
  for (let row = 0; row < rows; row++) transformLine(result, row * columns, 1, columns, work);
  for (let i = 0; i < result.length; i++) if (result[i]! >= far) result[i] = Infinity;
  return result;
}

/**
 * The same where only near cells matter, without looking at far ones: marked cells beside unmarked ones say how near they are
 * to each cell within reach.
 *
 * @param reach  [cells]
 * @returns Squared distances, `columns × rows`; Infinity where no marked cell lies within reach. [cells²]
 */
export function nearDistanceSquaredRaster(marked: ArrayLike<number>, columns: number, rows: number, reach: number): Float32Array {
  const result = new Float32Array(columns * rows);
  for (let k = 0; k < result.length; k++) result[k] = marked[k] ? 0 : Infinity;
  const whole = Math.floor(reach);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const k = y * columns + x;
      if (!marked[k]) continue;
      // The nearest mark to a cell has an unmarked neighbour on the cell's side.
      if (!((x > 0 && !marked[k - 1]) || (x + 1 < columns && !marked[k + 1]) || (y > 0 && !marked[k - columns]) || (y + 1 < rows && !marked[k + columns]))) continue;
      for (let dy = -Math.min(whole, y), lastY = Math.min(whole, rows - 1 - y); dy <= lastY; dy++) {
        for (let dx = -Math.min(whole, x), lastX = Math.min(whole, columns - 1 - x); dx <= lastX; dx++) {
          const away = dx * dx + dy * dy;
          const n = k + dy * columns + dx;
          if (away <= reach * reach && away < result[n]!) result[n] = away;
        }
      }
    }
  }
  return result;
}

interface Work {
  readonly line: Float64Array;
  readonly apex: Int32Array;
  readonly limit: Float64Array;
}

function transformLine(values: Float32Array, start: number, stride: number, count: number, { line, apex, limit }: Work): void {
  for (let i = 0; i < count; i++) line[i] = values[start + i * stride]!;
  let top = 0;
  apex[0] = 0;
  limit[0] = -Infinity;
  limit[1] = Infinity;
  for (let i = 1; i < count; i++) {
    let cut = crossing(line, apex[top]!, i);
    while (cut <= limit[top]!) cut = crossing(line, apex[--top]!, i);
    apex[++top] = i;
    limit[top] = cut;
    limit[top + 1] = Infinity;
  }
  for (let i = 0, k = 0; i < count; i++) {
    while (limit[k + 1]! < i) k++;
    const away = i - apex[k]!;
    values[start + i * stride] = away * away + line[apex[k]!]!;
  }
}

const crossing = (line: Float64Array, a: number, b: number): number => (line[b]! + b * b - (line[a]! + a * a)) / (2 * (b - a));
