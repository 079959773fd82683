import { exp, log } from './same-math.ts';
import { addAt, factorOf, inverseOf, logDeterminant, solveDecomposed, solveLower, wholeRows, type RowsFromFirst } from './solve-symmetric.ts';

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
  const root = factorOf(covarianceOf(patches, shape));
  if (!root) return null;
  const white = columns.map((column) => solveLower(root, column));
  const z = solveLower(root, patches.z);
  const normal = wholeRows(q);
  for (let a = 0; a < q; a++) for (let b = 0; b <= a; b++) addAt(normal, a, b, inner(white[a]!, white[b]!));
  const normalRoot = factorOf(normal);
  if (!normalRoot) return null;
  const parameters = solveDecomposed(normalRoot, white.map((column) => inner(column, z)));
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (z[i]! - white.reduce((sum, column, a) => sum + parameters[a]! * column[i]!, 0)) ** 2;
  const scale = Math.max(LEAST_SCALE, squares / (n - q));
  return {
    parameters,
    covariance: inverseOf(normalRoot).map((value) => scale * value),
    deviance: (n - q) * log(scale) + logDeterminant(root) + logDeterminant(normalRoot),
  };
}

function covarianceOf({ x, y, count }: PatchMeans, { length, power, alone }: ErrorShape): RowsFromFirst {
  const covariance = wholeRows(x.length);
  for (let i = 0; i < x.length; i++) {
    const row = covariance.rows[i]!;
    for (let j = 0; j < i; j++) {
      const dx = x[i]! - x[j]!;
      const dy = y[i]! - y[j]!;
      const share = Math.sqrt(dx * dx + dy * dy) / length;
      row[j] = exp(-(power === 2 ? share * share : power === 1 ? share : share * Math.sqrt(share)));
    }
    row[i] = 1 + alone / count[i]! + JITTER;
  }
  return covariance;
}

function inner(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
