import { log } from './same-math.ts';

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

/** A matrix of n rows kept whole: every row from its first column on. */
export const wholeRows = (n: number): RowsFromFirst => emptyRows(new Int32Array(n));

/**
 * Cholesky decomposition A = L Lᵀ of a positive definite matrix.
 *
 * @returns L, with the zeros of A's rows.
 * @throws RangeError when the matrix is not positive definite.
 */
export function decompose(matrix: RowsFromFirst): RowsFromFirst {
  const factor = factorOf(matrix);
  if (!factor) throw new RangeError('Expected a positive definite matrix.');
  return factor;
}

/** The same; null when the matrix is not positive definite. */
export function factorOf({ first, rows }: RowsFromFirst): RowsFromFirst | null {
  const found: Float64Array[] = [];
  for (let i = 0; i < rows.length; i++) {
    const start = first[i]!;
    const row = rows[i]!.slice();
    // Rows that begin in one column are worked on two at a time: what they have in common is then read once.
    const below = i + 1 < rows.length && first[i + 1] === start ? rows[i + 1]!.slice() : null;
    for (let j = start; j < i; j++) {
      const other = found[j]!;
      const from = first[j]!;
      const k = Math.max(start, from);
      if (below) {
        reducePair(row, below, k - start, other, k - from, j - k);
        row[j - start]! /= other[j - from]!;
        below[j - start]! /= other[j - from]!;
      } else row[j - start] = (row[j - start]! - sumOfProducts(row, k - start, other, k - from, j - k)) / other[j - from]!;
    }
    if (!closeRow(row, i - start)) return null;
    found.push(row);
    if (!below) continue;
    i++;
    below[i - 1 - start] = (below[i - 1 - start]! - sumOfProducts(below, 0, row, 0, i - 1 - start)) / row[i - 1 - start]!;
    if (!closeRow(below, i - start)) return null;
    found.push(below);
  }
  return { first, rows: found };
}

/** Last element of a row of the factor from those before; false where there is none. */
function closeRow(row: Float64Array, last: number): boolean {
  const square = row[last]! - sumOfProducts(row, 0, row, 0, last);
  if (!(square > 0)) return false;
  row[last] = Math.sqrt(square);
  return true;
}

/** Takes the products of `count` elements with those of another row off the next element of two rows, each summed as `sumOfProducts` does. */
function reducePair(a: Float64Array, b: Float64Array, from: number, other: Float64Array, fromOther: number, count: number): void {
  let a0 = 0;
  let a1 = 0;
  let a2 = 0;
  let a3 = 0;
  let b0 = 0;
  let b1 = 0;
  let b2 = 0;
  let b3 = 0;
  let k = 0;
  for (; k + 3 < count; k += 4) {
    const p0 = other[fromOther + k]!;
    const p1 = other[fromOther + k + 1]!;
    const p2 = other[fromOther + k + 2]!;
    const p3 = other[fromOther + k + 3]!;
    a0 += a[from + k]! * p0;
    a1 += a[from + k + 1]! * p1;
    a2 += a[from + k + 2]! * p2;
    a3 += a[from + k + 3]! * p3;
    b0 += b[from + k]! * p0;
    b1 += b[from + k + 1]! * p1;
    b2 += b[from + k + 2]! * p2;
    b3 += b[from + k + 3]! * p3;
  }
  for (; k < count; k++) {
    a0 += a[from + k]! * other[fromOther + k]!;
    b0 += b[from + k]! * other[fromOther + k]!;
  }
  a[from + count]! -= a0 + a1 + (a2 + a3);
  b[from + count]! -= b0 + b1 + (b2 + b3);
}

/** Of `count` elements from a place in each row on; four sums side by side, as each addition waits for the one before. */
function sumOfProducts(a: Float64Array, fromA: number, b: Float64Array, fromB: number, count: number): number {
  // Set one by one: a list of four would be made anew at every call, some gigabytes on a large roof.
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let k = 0;
  for (; k + 3 < count; k += 4) {
    s0 += a[fromA + k]! * b[fromB + k]!;
    s1 += a[fromA + k + 1]! * b[fromB + k + 1]!;
    s2 += a[fromA + k + 2]! * b[fromB + k + 2]!;
    s3 += a[fromA + k + 3]! * b[fromB + k + 3]!;
  }
  for (; k < count; k++) s0 += a[fromA + k]! * b[fromB + k]!;
  return s0 + s1 + (s2 + s3);
}

/** Solves L v = b for a factor. */
export function solveLower({ first, rows }: RowsFromFirst, b: ArrayLike<number>): Float64Array {
  const v = Float64Array.from(b);
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i]!;
    const start = first[i]!;
    let sum = v[i]!;
    for (let k = start; k < i; k++) sum -= row[k - start]! * v[k]!;
    v[i] = sum / row[i - start]!;
  }
  return v;
}

/** The same for many right-hand sides, four at a time: a sum waits for its last addition, and four of them wait together. */
export function solveLowerEach(factor: RowsFromFirst, sides: readonly Float64Array[]): Float64Array[] {
  const solved: Float64Array[] = [];
  for (let s = 0; s + 3 < sides.length; s += 4) {
    const four = [sides[s]!.slice(), sides[s + 1]!.slice(), sides[s + 2]!.slice(), sides[s + 3]!.slice()] as const;
    solveFour(factor, ...four);
    solved.push(...four);
  }
  for (let s = solved.length; s < sides.length; s++) solved.push(solveLower(factor, sides[s]!));
  return solved;
}

function solveFour({ first, rows }: RowsFromFirst, a: Float64Array, b: Float64Array, c: Float64Array, d: Float64Array): void {
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i]!;
    const start = first[i]!;
    let sumA = a[i]!;
    let sumB = b[i]!;
    let sumC = c[i]!;
    let sumD = d[i]!;
    for (let k = start; k < i; k++) {
      const value = row[k - start]!;
      sumA -= value * a[k]!;
      sumB -= value * b[k]!;
      sumC -= value * c[k]!;
      sumD -= value * d[k]!;
    }
    const last = row[i - start]!;
    a[i] = sumA / last;
    b[i] = sumB / last;
    c[i] = sumC / last;
    d[i] = sumD / last;
  }
}

/** Solves L Lᵀ x = b for a decomposed matrix. */
export function solveDecomposed(factor: RowsFromFirst, b: ArrayLike<number>): Float64Array {
  const x = solveLower(factor, b);
  const { first, rows } = factor;
  for (let i = rows.length - 1; i >= 0; i--) {
    const [row, start] = [rows[i]!, first[i]!];
    x[i]! /= row[i - start]!;
    for (let k = start; k < i; k++) x[k]! -= row[k - start]! * x[i]!;
  }
  return x;
}

/** Inverse of a decomposed matrix, `n × n` row by row. */
export function inverseOf(factor: RowsFromFirst): Float64Array {
  const n = factor.rows.length;
  const inverse = new Float64Array(n * n);
  for (let k = 0; k < n; k++) inverse.set(solveDecomposed(factor, Float64Array.from({ length: n }, (_, i) => (i === k ? 1 : 0))), k * n);
  return inverse;
}

/** Logarithm of the determinant of a decomposed matrix. */
export const logDeterminant = ({ rows }: RowsFromFirst): number => rows.reduce((sum, row) => sum + 2 * log(row.at(-1)!), 0);
