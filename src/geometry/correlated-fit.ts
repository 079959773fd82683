import { exp, log } from './same-math.ts';

/** Means of points over small patches, whose errors go together with distance. */
export interface PatchMeans {
  readonly x: ArrayLike<number>;
  readonly y: ArrayLike<number>;
  readonly z: ArrayLike<number>;
  /** Points behind each mean. */
  readonly count: ArrayLike<number>;
}

/** Make-up of the error: covariance of two patches d apart is exp(-(d / length)^power), and each point adds `alone` for itself. */
export interface ErrorShape {
  /** [m] */
  readonly length: number;
  readonly power: 1 | 1.5 | 2;
  /** Over the variance of what is shared. */
  readonly alone: number;
}

export interface CorrelatedFit {
  readonly parameters: Float64Array;
  /** Row by row, scaled by the residuals. */
  readonly covariance: Float64Array;
  /** Minus twice the restricted log likelihood, up to a constant that is the same for all shapes. */
  readonly deviance: number;
}

/** Added to every variance, over that of what is shared: smooth shapes are singular to the last digit without. */
const JITTER = 1e-6;

/** Residuals that are nothing at all leave a scale of this. */
const LEAST_SCALE = 1e-12;

/**
 * Generalised least squares with a covariance known up to its scale (Aitken 1936), and the restricted likelihood of that
 * covariance (Patterson and Thompson 1971).
 *
 * @param columns  Effect of each parameter on each patch.
 * @returns null where the patches do not fix the parameters.
 */
export function fitCorrelated(patches: PatchMeans, columns: readonly ArrayLike<number>[], shape: ErrorShape): CorrelatedFit | null {
  const n = patches.z.length;
  const q = columns.length;
  if (n <= q) return null;
  const root = covarianceOf(patches, shape);
  if (!factorise(root, n)) return null;
  const white = columns.map((column) => solveLower(root, n, Float64Array.from(column)));
  const z = solveLower(root, n, Float64Array.from(patches.z));
  const normal = new Float64Array(q * q);
  const right = new Float64Array(q);
  for (let a = 0; a < q; a++) {
    for (let b = 0; b <= a; b++) normal[a * q + b] = normal[b * q + a] = inner(white[a]!, white[b]!);
    right[a] = inner(white[a]!, z);
  }
  const covariance = inverseOf(normal, q);
  if (!covariance) return null;
  const parameters = Float64Array.from(right, (_, a) => inner(covariance.subarray(a * q, (a + 1) * q), right));
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (z[i]! - white.reduce((sum, column, a) => sum + parameters[a]! * column[i]!, 0)) ** 2;
  const scale = Math.max(LEAST_SCALE, squares / (n - q));
  let deviance = (n - q) * log(scale);
  for (let i = 0; i < n; i++) deviance += 2 * log(root[i * n + i]!);
  factorise(normal, q);
  for (let i = 0; i < q; i++) deviance += 2 * log(normal[i * q + i]!);
  return { parameters, covariance: covariance.map((value) => scale * value), deviance };
}

function covarianceOf({ x, y, count }: PatchMeans, { length, power, alone }: ErrorShape): Float64Array {
  const n = x.length;
  const covariance = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      const [dx, dy] = [x[i]! - x[j]!, y[i]! - y[j]!];
      const share = Math.sqrt(dx * dx + dy * dy) / length;
      covariance[i * n + j] = exp(-(power === 2 ? share * share : power === 1 ? share : share * Math.sqrt(share)));
    }
    covariance[i * n + i] = 1 + alone / count[i]! + JITTER;
  }
  return covariance;
}

function inner(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

/** Sum of products of two rows' first `count` entries; four sums side by side, as each addition waits for the one before. */
function rowProduct(matrix: Float64Array, a: number, b: number, count: number): number {
  let [s0, s1, s2, s3] = [0, 0, 0, 0];
  let k = 0;
  for (; k + 3 < count; k += 4) {
    s0 += matrix[a + k]! * matrix[b + k]!;
    s1 += matrix[a + k + 1]! * matrix[b + k + 1]!;
    s2 += matrix[a + k + 2]! * matrix[b + k + 2]!;
    s3 += matrix[a + k + 3]! * matrix[b + k + 3]!;
  }
  for (; k < count; k++) s0 += matrix[a + k]! * matrix[b + k]!;
  return s0 + s1 + (s2 + s3);
}

/** Lower factor of a positive definite matrix, in its place (Cholesky); false where it is not one. */
function factorise(matrix: Float64Array, n: number): boolean {
  for (let j = 0; j < n; j++) {
    for (let i = 0; i <= j; i++) {
      const sum = matrix[j * n + i]! - rowProduct(matrix, j * n, i * n, i);
      if (i < j) matrix[j * n + i] = sum / matrix[i * n + i]!;
      else if (sum > 0) matrix[j * n + j] = Math.sqrt(sum);
      else return false;
    }
  }
  return true;
}

/** Solves L v = b in the place of b. */
function solveLower(lower: Float64Array, n: number, b: Float64Array): Float64Array {
  for (let i = 0; i < n; i++) {
    let sum = b[i]!;
    for (let k = 0; k < i; k++) sum -= lower[i * n + k]! * b[k]!;
    b[i] = sum / lower[i * n + i]!;
  }
  return b;
}

/** Inverse of a positive definite matrix; null where it is not one. */
export function inverseOf(matrix: Float64Array, n: number): Float64Array | null {
  const lower = matrix.slice();
  if (!factorise(lower, n)) return null;
  const inverse = new Float64Array(n * n);
  for (let k = 0; k < n; k++) {
    const column = new Float64Array(n);
    column[k] = 1;
    solveLower(lower, n, column);
    for (let i = n - 1; i >= 0; i--) {
      let sum = column[i]!;
      for (let m = i + 1; m < n; m++) sum -= lower[m * n + i]! * column[m]!;
      column[i] = sum / lower[i * n + i]!;
    }
    for (let i = 0; i < n; i++) inverse[i * n + k] = column[i]!;
  }
  return inverse;
}
