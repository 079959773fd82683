/**
 * Lower triangle of a symmetric matrix, each row without the zeros before its first element: enough for chains of
 * neighbours, whose decomposition fills no element before those.
 */
export interface RowsFromFirst {
  /** Column of the first element kept of each row. */
  readonly first: Int32Array;
  /** Row i holds the columns `first[i]` to i. */
  readonly rows: readonly Float64Array[];
}

/** An empty matrix whose row i begins at column `first[i]` <= i. */
export const emptyRows = (first: Int32Array): RowsFromFirst => ({ first, rows: Array.from(first, (start, i) => new Float64Array(i - start + 1)) });

/** Adds to element (i, j), i >= j. */
export function addAt({ first, rows }: RowsFromFirst, i: number, j: number, value: number): void {
  rows[i]![j - first[i]!]! += value;
}

/**
 * Cholesky decomposition A = L Lᵀ of a positive definite matrix.
 *
 * @returns L, with the zeros of A's rows.
 * @throws RangeError when the matrix is not positive definite.
 */
export function decompose({ first, rows }: RowsFromFirst): RowsFromFirst {
  const found: Float64Array[] = [];
  rows.forEach((given, i) => {
    const start = first[i]!;
    const row = given.slice();
    for (let j = start; j < i; j++) {
      const other = found[j]!;
      let sum = row[j - start]!;
      for (let k = Math.max(start, first[j]!); k < j; k++) sum -= row[k - start]! * other[k - first[j]!]!;
      row[j - start] = sum / other[j - first[j]!]!;
    }
    let square = row[i - start]!;
    for (let k = start; k < i; k++) square -= row[k - start]! ** 2;
    if (!(square > 0)) throw new RangeError('Expected a positive definite matrix.');
    row[i - start] = Math.sqrt(square);
    found.push(row);
  });
  return { first, rows: found };
}

/** Solves L Lᵀ x = b for a decomposed matrix. */
export function solveDecomposed({ first, rows }: RowsFromFirst, b: Float64Array): Float64Array {
  const x = b.slice();
  rows.forEach((row, i) => {
    const start = first[i]!;
    let sum = x[i]!;
    for (let k = start; k < i; k++) sum -= row[k - start]! * x[k]!;
    x[i] = sum / row[i - start]!;
  });
  for (let i = rows.length - 1; i >= 0; i--) {
    const [row, start] = [rows[i]!, first[i]!];
    x[i]! /= row[i - start]!;
    for (let k = start; k < i; k++) x[k]! -= row[k - start]! * x[i]!;
  }
  return x;
}
