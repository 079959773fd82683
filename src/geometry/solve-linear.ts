/**
 * Solves A x = b by elimination with partial pivoting; meant for a handful of unknowns.
 *
 * @param a  `n × n`, row by row. @param b  `n`.
 * @returns x, or null when a pivot is below 1e-12 of the largest element.
 */
export function solveLinear(a: Float64Array, b: Float64Array): Float64Array | null {
  const n = b.length;
  const m = a.slice();
  const x = b.slice();
  let largest = 0;
  for (const value of m) largest = Math.max(largest, Math.abs(value));
  for (let column = 0; column < n; column++) {
    let pivot = column;
    for (let row = column + 1; row < n; row++) if (Math.abs(m[row * n + column]!) > Math.abs(m[pivot * n + column]!)) pivot = row;
    if (!(Math.abs(m[pivot * n + column]!) > 1e-12 * largest)) return null;
    for (let k = 0; k < n && pivot !== column; k++) {
      [m[column * n + k], m[pivot * n + k]] = [m[pivot * n + k]!, m[column * n + k]!];
    }
    if (pivot !== column) [x[column], x[pivot]] = [x[pivot]!, x[column]!];
    for (let row = column + 1; row < n; row++) {
      const factor = m[row * n + column]! / m[column * n + column]!;
      for (let k = column; k < n; k++) m[row * n + k]! -= factor * m[column * n + k]!;
      x[row]! -= factor * x[column]!;
    }
  }
  for (let row = n - 1; row >= 0; row--) {
    for (let k = row + 1; k < n; k++) x[row]! -= m[row * n + k]! * x[k]!;
    x[row]! /= m[row * n + row]!;
  }
  return x;
}
