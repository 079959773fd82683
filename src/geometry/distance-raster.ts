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
