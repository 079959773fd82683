const SIZE = 3;
/** Sweeps of the Jacobi method; three by three settles to the last digit in five. */
const SWEEPS = 8;

/**
 * A covariance of three numbers in which no combination of them is surer than another covariance says. Estimated
 * covariances of neighbours need not fit together: a combination of parameters may then get a variance below zero.
 *
 * @param covariance  3 × 3, row by row.
 * @param least  Positive definite, 3 × 3.
 * @returns `covariance` with its principal variances, counted in those of `least`, raised to 1 where they lie below.
 */
export function raisedTo(covariance: readonly number[], least: readonly number[]): number[] {
  const root = choleskyOf(least);
  const { values, vectors } = eigenOf(whitened(covariance, root));
  if (values.every((value) => value >= 1)) return [...covariance];
  const raised = new Array<number>(SIZE * SIZE).fill(0);
  for (let k = 0; k < SIZE; k++) {
    const axis = [0, 1, 2].map((i) => [0, 1, 2].reduce((sum, j) => sum + root[SIZE * i + j]! * vectors[SIZE * j + k]!, 0));
    for (let i = 0; i < SIZE; i++) for (let j = 0; j < SIZE; j++) raised[SIZE * i + j]! += Math.max(1, values[k]!) * axis[i]! * axis[j]!;
  }
  return raised;
}

/** Lower triangle L with L Lᵀ the matrix. */
function choleskyOf(a: readonly number[]): number[] {
  const l = new Array<number>(SIZE * SIZE).fill(0);
  for (let i = 0; i < SIZE; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[SIZE * i + j]!;
      for (let k = 0; k < j; k++) sum -= l[SIZE * i + k]! * l[SIZE * j + k]!;
      if (i === j && !(sum > 0)) throw new RangeError('Expected a positive definite matrix.');
      l[SIZE * i + j] = i === j ? Math.sqrt(sum) : sum / l[SIZE * j + j]!;
    }
  }
  return l;
}

/** L⁻¹ C L⁻ᵀ. */
function whitened(c: readonly number[], l: readonly number[]): number[] {
  const half = solveRows(l, c);
  return solveRows(l, transposed(half));
}

/** L⁻¹ M, by forward substitution. */
function solveRows(l: readonly number[], m: readonly number[]): number[] {
  const x = [...m];
  for (let column = 0; column < SIZE; column++) {
    for (let i = 0; i < SIZE; i++) {
      for (let k = 0; k < i; k++) x[SIZE * i + column]! -= l[SIZE * i + k]! * x[SIZE * k + column]!;
      x[SIZE * i + column]! /= l[SIZE * i + i]!;
    }
  }
  return x;
}

const transposed = (m: readonly number[]): number[] => m.map((_, at) => m[SIZE * (at % SIZE) + Math.floor(at / SIZE)]!);

/** Eigenvalues and, in columns, eigenvectors of a symmetric matrix, by Jacobi rotations. */
function eigenOf(matrix: readonly number[]): { values: number[]; vectors: number[] } {
  const a = [...matrix];
  const v = [1, 0, 0, 0, 1, 0, 0, 0, 1];
  for (let sweep = 0; sweep < SWEEPS; sweep++) for (const [p, q] of [[0, 1], [0, 2], [1, 2]] as const) rotate(a, v, p, q);
  return { values: [a[0]!, a[4]!, a[8]!], vectors: v };
}

function rotate(a: number[], v: number[], p: number, q: number): void {
  const off = a[SIZE * p + q]!;
  if (off === 0) return;
  const tau = (a[SIZE * q + q]! - a[SIZE * p + p]!) / (2 * off);
  const t = (tau >= 0 ? 1 : -1) / (Math.abs(tau) + Math.sqrt(1 + tau * tau));
  const c = 1 / Math.sqrt(1 + t * t);
  const s = t * c;
  for (let k = 0; k < SIZE; k++) {
    const [x, y] = [a[SIZE * k + p]!, a[SIZE * k + q]!];
    a[SIZE * k + p] = c * x - s * y;
    a[SIZE * k + q] = s * x + c * y;
  }
  for (let k = 0; k < SIZE; k++) {
    const [x, y] = [a[SIZE * p + k]!, a[SIZE * q + k]!];
    a[SIZE * p + k] = c * x - s * y;
    a[SIZE * q + k] = s * x + c * y;
    const [m, n] = [v[SIZE * k + p]!, v[SIZE * k + q]!];
    v[SIZE * k + p] = c * m - s * n;
    v[SIZE * k + q] = s * m + c * n;
  }
}
