import { log } from '../geometry/same-math.ts';
import { inverse, Matrix } from 'ml-matrix';
import { USUAL_SIZES } from './explain-residuals.ts';

/** A length that could be taped. */
export interface TapeCandidate {
  readonly edge: string;
  readonly spanLength: number;
  readonly spanHeight: number;
  /** How much of an edge offset it shows, see `ResidualCase`. */
  readonly edgeShare: number;
  /** One sigma of model and tape together, without scale and edge parts. [m] */
  readonly sigma: number;
}

export interface TapeSuggestion {
  readonly edge: string;
  /** Gain in log determinant of the information on scale, edge offset and vertical scale. */
  readonly gain: number;
  readonly why: string;
}

/** How large each cause is before any reading: scale, edge, vertical scale. */
const PRIOR_SIGMAS = [USUAL_SIZES.scale, USUAL_SIZES.edge, USUAL_SIZES['vertical-scale']] as const;

interface Spanned {
  readonly spanLength: number;
  readonly spanHeight: number;
  readonly edgeShare: number;
  readonly sigma: number;
}

/** Effect of one unit of scale, edge offset and vertical scale on a reading, in sigmas. */
function effects({ spanLength, spanHeight, edgeShare, sigma }: Spanned): number[] {
  const vertical = spanLength > 0 ? (spanHeight * spanHeight) / spanLength : 0;
  return [spanLength / sigma, edgeShare / sigma, vertical / sigma];
}

function priorInformation(): Matrix {
  return Matrix.diag(PRIOR_SIGMAS.map((sigma) => 1 / (sigma * sigma)));
}

function withReading(information: Matrix, reading: Spanned): Matrix {
  const column = Matrix.columnVector(effects(reading));
  return Matrix.add(information, column.mmul(column.transpose()));
}

/**
 * Which lengths to tape next: greedy D-optimal choice (Fedorov 1972) on scale, edge offset and vertical scale, given
 * what was taped already.
 *
 * @param count  How many to suggest; each counts the ones before it as taken.
 */
export function suggestTapes(taken: readonly Spanned[], candidates: readonly TapeCandidate[], count: number): TapeSuggestion[] {
  let information = taken.reduce(withReading, priorInformation());
  let open = [...candidates];
  const chosen: TapeSuggestion[] = [];
  while (chosen.length < count && open.length > 0) {
    const covariance = informationInverse(information);
    const gains = open.map((candidate) => log(1 + spread(covariance, effects(candidate))));
    const best = gains.indexOf(Math.max(...gains));
    const pick = open[best]!;
    chosen.push({ edge: pick.edge, gain: gains[best]!, why: reasonFor(information, pick) });
    information = withReading(information, pick);
    open = open.filter((candidate) => candidate !== pick);
  }
  return chosen;
}

/** x' C x: the determinant of the information grows by one more than this with a reading of effects x (matrix determinant lemma). */
function spread(covariance: Matrix, effect: readonly number[]): number {
  let sum = 0;
  effect.forEach((a, i) => effect.forEach((b, j) => (sum += a * b * covariance.get(i, j))));
  return sum;
}

/** Sigmas of a reading from which on a cause shows in it. */
const SHOWS = 0.1;

const CAUSES = ['scale', 'where the edge is', 'the height scale'] as const;

/** Names the cause whose sigma shrinks most by this reading. */
function reasonFor(information: Matrix, candidate: TapeCandidate): string {
  const before = sigmasOf(information);
  const after = sigmasOf(withReading(information, candidate));
  // A level length can narrow the height scale by what it says of the others, but that is not what it is taped for: a cause of its usual size must show in it.
  const own = effects(candidate);
  const shares = before.map((sigma, index) => (Math.abs(own[index]!) * PRIOR_SIGMAS[index]! >= SHOWS ? 1 - after[index]! / sigma : 0));
  const best = shares.indexOf(Math.max(...shares));
  return `${candidate.spanLength.toFixed(1)} m; tells most of ${CAUSES[best]}, whose uncertainty it cuts by ${Math.round(100 * shares[best]!)} %`;
}

function sigmasOf(information: Matrix): number[] {
  const covariance = informationInverse(information);
  return CAUSES.map((_, index) => Math.sqrt(covariance.get(index, index)));
}

/** Scaled by the prior first, so that a plain inverse keeps its digits. */
function informationInverse(information: Matrix): Matrix {
  const scale = Matrix.diag([...PRIOR_SIGMAS]);
  return scale.mmul(inverse(scale.mmul(information).mmul(scale))).mmul(scale);
}
