import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { chiSquareTail, studentQuantile } from '../geometry/distributions.ts';
import { add, cross, dot, scale, subtract, type Vector3 } from '../geometry/vector.ts';
import { atan2 } from '../geometry/same-math.ts';
import { rotated, rotationBy, type Rotation } from '../geometry/rotation.ts';

/** One thing seen of a point in both frames: how far it lies along a direction. A point known in full gives three. */
export interface SimilarityObservation {
  /** Place in the frame that is taken as true. [m] */
  readonly from: Vector3;
  /** Place in the other frame; only its part along `direction` counts. [m] */
  readonly to: Vector3;
  /** Unit vector. */
  readonly direction: Vector3;
  /** One sigma of both along it. [m] */
  readonly sigma: number;
}

export const SIMILARITY_PARAMETERS = ['shiftX', 'shiftY', 'shiftZ', 'turnX', 'turnY', 'turnZ', 'scale'] as const;
export type SimilarityParameter = (typeof SIMILARITY_PARAMETERS)[number];

export interface FittedParameter {
  /** Shift in metres, turn in radians (right-handed), scale as relative excess. */
  readonly value: number;
  /** 95 % half width. */
  readonly u95: number;
  /** False where the points leave it open; value and u95 then say nothing. */
  readonly isDetermined: boolean;
}

/** to = about + shift + (1 + scale) R (from − about). */
export interface SimilarityFit {
  readonly about: Vector3;
  readonly parameters: Readonly<Record<SimilarityParameter, FittedParameter>>;
  /** Covariance of the seven in their order, 7 × 7 row by row, before any widening. */
  readonly covariance: readonly number[];
  /** to − transformed from, along each direction. [m] */
  readonly residuals: readonly number[];
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
  /** Probability of a chi-square this large if the sigmas hold; null without redundancy. */
  readonly probability: number | null;
  apply(from: Vector3): Vector3;
}

/** A turn or stretch known worse than this over the spread of the points is left out and called open. [rad] or [-] */
const OPEN_SIGMA = 0.03;
/** A parameter with more than this share in what was left out is open itself. */
const OPEN_SHARE = 0.01;
/** A chi-square rarer than this says that the stated sigmas are too small. */
const DOUBT = 0.05;
const MOST_ROUNDS = 50;

/**
 * Seven-parameter similarity (Helmert) transformation by least squares with stated sigmas, iterated from no turn, about
 * the mean of the points; directions of the parameter space that the points do not determine are found by their
 * eigenvalues and left at zero (minimum norm). Where the residuals are larger than the sigmas allow (chi-square
 * test, 5 %), the ± is widened by the root of chi-square over its degrees of freedom and taken from Student's distribution.
 *
 * @throws RangeError without observations.
 */
export function fitSimilarity(observations: readonly SimilarityObservation[]): SimilarityFit {
  if (observations.length === 0) throw new RangeError('Expected at least one observation.');
  const about = meanOf(observations.map(({ from }) => from));
  const spread = Math.sqrt(observations.reduce((sum, { from }) => sum + dot(subtract(from, about), subtract(from, about)), 0) / observations.length) || 1;
  const state: State = { about, shift: [0, 0, 0], turn: [[1, 0, 0], [0, 1, 0], [0, 0, 1]], factor: 1 };
  let solved = step(observations, state, spread);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    advance(state, solved.change);
    const size = Math.hypot(...solved.change);
    solved = step(observations, state, spread);
    if (size < 1e-13 * spread) break;
  }
  return describe(observations, state, solved);
}

interface State {
  readonly about: Vector3;
  shift: Vector3;
  /** Rows of the rotation matrix. */
  turn: Rotation;
  factor: number;
}

interface Step {
  readonly change: readonly number[];
  readonly covariance: Matrix;
  readonly openShare: readonly number[];
  readonly rank: number;
  readonly misclosures: readonly number[];
}

const moved = (state: State, from: Vector3): Vector3 => add(add(state.about, state.shift), scale(rotated(state.turn, subtract(from, state.about)), state.factor));

function meanOf(places: readonly Vector3[]): Vector3 {
  const [first] = places as [Vector3];
  // Counted from the first, so that grid coordinates of millions of metres lose no digits.
  const sum = places.reduce<Vector3>((total, place) => add(total, subtract(place, first)), [0, 0, 0]);
  return add(first, scale(sum, 1 / places.length));
}

/** One round: normal equations in parameters scaled to metres at the spread, solved by eigenvalues. */
function step(observations: readonly SimilarityObservation[], state: State, spread: number): Step {
  const rows: number[][] = [];
  const misclosures: number[] = [];
  const weighted: number[] = [];
  for (const { from, to, direction, sigma } of observations) {
    const arm = subtract(moved(state, from), add(state.about, state.shift));
    const lever = cross(arm, direction);
    rows.push([...direction, ...scale(lever, 1 / spread), dot(arm, direction) / spread].map((entry) => entry / sigma));
    const misclosure = dot(direction, subtract(to, moved(state, from)));
    misclosures.push(misclosure);
    weighted.push(misclosure / sigma);
  }
  const design = new Matrix(rows);
  const transposed = design.transpose();
  const right = transposed.mmul(Matrix.columnVector(weighted)).getColumn(0);
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(transposed.mmul(design), { assumeSymmetric: true });
  const least = 1 / (OPEN_SIGMA * spread) ** 2;
  const covariance = Matrix.zeros(7, 7);
  const openShare = new Array<number>(7).fill(0);
  let rank = 0;
  realEigenvalues.forEach((eigenvalue, index) => {
    const vector = eigenvectorMatrix.getColumn(index);
    if (eigenvalue <= least) return vector.forEach((entry, at) => (openShare[at]! += entry * entry));
    rank++;
    for (let i = 0; i < 7; i++) for (let j = 0; j < 7; j++) covariance.set(i, j, covariance.get(i, j) + (vector[i]! * vector[j]!) / eigenvalue);
  });
  const units = [1, 1, 1, spread, spread, spread, spread];
  const change = covariance.mmul(Matrix.columnVector(right)).getColumn(0).map((value, index) => value / units[index]!);
  for (let i = 0; i < 7; i++) for (let j = 0; j < 7; j++) covariance.set(i, j, covariance.get(i, j) / (units[i]! * units[j]!));
  return { change, covariance, openShare, rank, misclosures };
}

function advance(state: State, change: readonly number[]): void {
  const [x, y, z, a, b, c, k] = change as [number, number, number, number, number, number, number];
  state.shift = add(state.shift, [x, y, z]);
  const by = rotationBy([a, b, c]);
  const columns = [0, 1, 2].map((at): Vector3 => [state.turn[0][at]!, state.turn[1][at]!, state.turn[2][at]!]);
  state.turn = by.map((row): Vector3 => [dot(row, columns[0]!), dot(row, columns[1]!), dot(row, columns[2]!)]) as unknown as State['turn'];
  state.factor *= 1 + k;
}

function rotationVector(turn: State['turn']): Vector3 {
  const axis: Vector3 = [turn[2][1] - turn[1][2], turn[0][2] - turn[2][0], turn[1][0] - turn[0][1]];
  const sine = Math.hypot(...axis) / 2;
  const angle = atan2(sine, (turn[0][0] + turn[1][1] + turn[2][2] - 1) / 2);
  return sine < 1e-15 ? [0, 0, 0] : scale(axis, angle / (2 * sine));
}

const NORMAL_95 = 1.96;

function describe(observations: readonly SimilarityObservation[], state: State, solved: Step): SimilarityFit {
  const chiSquare = solved.misclosures.reduce((sum, residual, index) => sum + (residual / observations[index]!.sigma) ** 2, 0);
  const degreesOfFreedom = observations.length - solved.rank;
  const probability = degreesOfFreedom > 0 ? chiSquareTail(chiSquare, degreesOfFreedom) : null;
  const multiple = probability !== null && probability < DOUBT ? studentQuantile(0.975, degreesOfFreedom) * Math.sqrt(chiSquare / degreesOfFreedom) : NORMAL_95;
  const values = [...state.shift, ...rotationVector(state.turn), state.factor - 1];
  const parameters = Object.fromEntries(
    SIMILARITY_PARAMETERS.map((name, index) => [
      name,
      { value: values[index]!, u95: multiple * Math.sqrt(Math.max(0, solved.covariance.get(index, index))), isDetermined: solved.openShare[index]! <= OPEN_SHARE },
    ]),
  ) as Record<SimilarityParameter, FittedParameter>;
  return {
    about: state.about,
    parameters,
    covariance: solved.covariance.to1DArray(),
    residuals: solved.misclosures,
    chiSquare,
    degreesOfFreedom,
    probability,
    apply: (from) => moved(state, from),
  };
}
