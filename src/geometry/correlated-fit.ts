import { exp, log } from './same-math.ts';
import { addAt, factorOf, inverseOf, logDeterminant, solveDecomposed, solveLowerEach, wholeRows, type RowsFromFirst } from './solve-symmetric.ts';

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
 * covariance (Patterson and Thompson 1971). What patches have in common by distance is kept from one shape to the next.
 *
 * @param columns  Effect of each parameter on each patch.
 * @returns The fit for a shape of the error; null where the patches do not fix the parameters.
 */
export function correlatedFits(patches: PatchMeans, columns: readonly ArrayLike<number>[]): (shape: ErrorShape) => CorrelatedFit | null {
  const n = patches.z.length;
  const effects = columns.map((column) => Float64Array.from(column));
  const z = Float64Array.from(patches.z);
  if (n <= columns.length) return () => null;
  const distances = distancesOf(patches);
  const shared = new Map<string, RowsFromFirst>();
  return (shape) => {
    const key = `${shape.length} ${shape.power}`;
    let covariance = shared.get(key);
    if (!covariance) shared.set(key, (covariance = sharedCovariance(distances, shape)));
    for (let i = 0; i < n; i++) covariance.rows[i]![i] = 1 + shape.alone / patches.count[i]! + JITTER;
    return solveFit(covariance, effects, z);
  };
}

function solveFit(covariance: RowsFromFirst, columns: readonly Float64Array[], heights: Float64Array): CorrelatedFit | null {
  const n = heights.length;
  const q = columns.length;
  const root = factorOf(covariance);
  if (!root) return null;
  const white = solveLowerEach(root, [...columns, heights]);
  const z = white.pop()!;
  const normal = wholeRows(q);
  for (let a = 0; a < q; a++) for (let b = 0; b <= a; b++) addAt(normal, a, b, inner(white[a]!, white[b]!));
  const normalRoot = factorOf(normal);
  if (!normalRoot) return null;
  const parameters = solveDecomposed(normalRoot, white.map((column) => inner(column, z)));
  let squares = 0;
  for (let i = 0; i < n; i++) {
    let fitted = 0;
    for (let a = 0; a < q; a++) fitted += parameters[a]! * white[a]![i]!;
    squares += (z[i]! - fitted) ** 2;
  }
  const scale = Math.max(LEAST_SCALE, squares / (n - q));
  return {
    parameters,
    covariance: inverseOf(normalRoot).map((value) => scale * value),
    deviance: (n - q) * log(scale) + logDeterminant(root) + logDeterminant(normalRoot),
  };
}

/** Row by row, below the diagonal. [m] */
function distancesOf({ x, y }: PatchMeans): RowsFromFirst {
  const distances = wholeRows(x.length);
  for (let i = 0; i < x.length; i++) {
    const row = distances.rows[i]!;
    for (let j = 0; j < i; j++) {
      const dx = x[i]! - x[j]!;
      const dy = y[i]! - y[j]!;
      row[j] = Math.sqrt(dx * dx + dy * dy);
    }
  }
  return distances;
}

/** What two patches have in common; the diagonal is left to be filled in. */
function sharedCovariance(distances: RowsFromFirst, { length, power }: ErrorShape): RowsFromFirst {
  const covariance = wholeRows(distances.rows.length);
  for (let i = 0; i < distances.rows.length; i++) {
    const row = covariance.rows[i]!;
    const apart = distances.rows[i]!;
    for (let j = 0; j < i; j++) {
      const share = apart[j]! / length;
      row[j] = exp(-(power === 2 ? share * share : power === 1 ? share : share * Math.sqrt(share)));
    }
  }
  return covariance;
}

function inner(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
