import { inverse, Matrix } from 'ml-matrix';
import { exp, log } from '../geometry/same-math.ts';

export type ExplanationKind = 'chance' | 'scale' | 'edge' | 'scale-and-edge' | 'vertical-scale' | 'blunder';
export const EXPLANATION_KINDS: readonly ExplanationKind[] = ['chance', 'scale', 'edge', 'scale-and-edge', 'vertical-scale', 'blunder'];

/** One residual with what could have caused it. */
export interface ResidualCase {
  /** Ours minus tape. [m] */
  readonly residual: number;
  /** One sigma of the residual without any scale or edge part. [m] */
  readonly sigma: number;
  /** Length the reading spans. [m] */
  readonly spanLength: number;
  /** Height difference it spans. [m] */
  readonly spanHeight: number;
  /** How much of a different idea of where edges are shows in it: 1 between two free edges, 0 where planes meet or on a plane. */
  readonly edgeShare: number;
}

export interface ModelFit {
  readonly kind: ExplanationKind;
  /** Chi-square plus parameters times log count (Schwarz 1978), sigma known. */
  readonly bic: number;
  readonly parameters: readonly number[];
  /** One sigma of each parameter. */
  readonly sigmas: readonly number[];
  /** Which residual is the blunder. */
  readonly at?: number;
}

export interface Explanation {
  readonly kind: ExplanationKind | 'cannot-tell';
  /** Share of belief of each model, sums to 1. */
  readonly odds: Readonly<Record<ExplanationKind, number>>;
  readonly fits: readonly ModelFit[];
  readonly why: string;
}

/** Below this many BIC units the better model is not called better (Kass and Raftery 1995: "not worth more than a bare mention"). */
const DECISIVE_BIC = 2;
const LEAST_READINGS = 3;

/**
 * How large causes are before any reading: scale 0.3 %, edge 25 mm, heights 1 %. Common practice, no source; they weigh causes
 * against each other, and say what a set of readings ought to show.
 */
export const USUAL_SIZES = { scale: 0.003, edge: 0.025, 'vertical-scale': 0.01 } as const;
/** Sigmas that a cause must have to be called four times in five: 1.96 to be called, and 0.84 more. */
export const FOUND_FOUR_IN_FIVE = 1.96 + 0.84;
/** From so many sigmas on readings lean towards a cause: chance alone leans to a given one in a quarter of sets. */
const LEANS = 1.15;

/**
 * Why residuals are what they are: chance, a scale error, another idea of the edge, both, a vertical scale error, or one
 * blunder. A shift or a rotation of the model leaves every distance as it is, so no set of distances can show it.
 */
export function explainResiduals(cases: readonly ResidualCase[]): Explanation {
  if (cases.length === 0) return { kind: 'cannot-tell', odds: evenOdds(), fits: [], why: 'No length and no height was compared.' };
  const fits = EXPLANATION_KINDS.flatMap((kind) => fitModel(kind, cases) ?? []);
  const odds = oddsOf(fits);
  if (cases.length < LEAST_READINGS) {
    return { kind: 'cannot-tell', odds, fits, why: `${cases.length} ${cases.length === 1 ? 'reading' : 'readings'}, at least ${LEAST_READINGS} are needed to tell causes apart.` };
  }
  const ranked = [...fits].sort((a, b) => a.bic - b.bic);
  const best = simplest(ranked);
  // A richer model that holds the best one within it is no rival: it only adds a parameter the data do not ask for.
  const second = ranked.find((fit) => fit !== best && !(fit.kind === 'scale-and-edge' && isPartOfBoth(best)));
  const chance = fits.find((fit) => fit.kind === 'chance')!;
  if (chance.bic - best.bic < DECISIVE_BIC) {
    const hidden = hiddenCause(fits);
    if (hidden) return { kind: 'cannot-tell', odds, fits, why: hidden };
    return { kind: 'chance', odds, fits, why: 'No cause explains the residuals decisively better than chance.' };
  }
  if (second && Math.abs(second.bic - best.bic) < DECISIVE_BIC && second.kind !== 'chance') {
    return { kind: 'cannot-tell', odds, fits, why: `${titled(best.kind)} and ${said(second.kind)} explain these readings about equally well.` };
  }
  return { kind: best.kind, odds, fits, why: `${titled(best.kind)} explains the residuals better than chance by ${(chance.bic - best.bic).toFixed(1)} BIC units.` };
}

/** The cause that readings lean to and would not show for sure at its usual size: then that nothing is decisive says little. */
function hiddenCause(fits: readonly ModelFit[]): string | null {
  let most: { readonly says: string; readonly leaning: number } | null = null;
  for (const { kind, parameters: [value], sigmas: [sigma] } of fits) {
    if (kind !== 'scale' && kind !== 'edge' && kind !== 'vertical-scale') continue;
    const leaning = Math.abs(value! / sigma!);
    if (USUAL_SIZES[kind] / sigma! >= FOUND_FOUR_IN_FIVE || leaning < LEANS || (most && most.leaning >= leaning)) continue;
    most = { leaning, says: `The residuals lean towards ${said(kind)} (${sized(kind, value!)} ± ${sized(kind, 1.96 * sigma!)}), but these readings would show ${sized(kind, USUAL_SIZES[kind])} of it less than four times in five.` };
  }
  return most?.says ?? null;
}

const sized = (kind: keyof typeof USUAL_SIZES, size: number): string => (kind === 'edge' ? `${(1000 * size).toFixed(0)} mm` : `${(100 * size).toFixed(2)} %`).replace('-', '−');

const isPartOfBoth = ({ kind }: ModelFit): boolean => kind === 'scale' || kind === 'edge';

/** The best model, or the better half of scale and edge where both together are not decisively better: as chance is kept until a cause is. */
function simplest(ranked: readonly ModelFit[]): ModelFit {
  const best = ranked[0]!;
  const half = best.kind === 'scale-and-edge' ? ranked.find(isPartOfBoth) : undefined;
  return half && half.bic - best.bic < DECISIVE_BIC ? half : best;
}

const said = (kind: ExplanationKind): string => kind.replaceAll('-', ' ');
const titled = (kind: ExplanationKind): string => said(kind).replace(/^./, (letter) => letter.toUpperCase());

const evenOdds = (): Record<ExplanationKind, number> => Object.fromEntries(EXPLANATION_KINDS.map((kind) => [kind, 1 / EXPLANATION_KINDS.length])) as Record<ExplanationKind, number>;

function oddsOf(fits: readonly ModelFit[]): Record<ExplanationKind, number> {
  const least = Math.min(...fits.map((fit) => fit.bic));
  const weights = fits.map((fit) => exp(-(fit.bic - least) / 2));
  const sum = weights.reduce((total, weight) => total + weight, 0);
  const odds = Object.fromEntries(EXPLANATION_KINDS.map((kind) => [kind, 0])) as Record<ExplanationKind, number>;
  fits.forEach((fit, index) => (odds[fit.kind] = weights[index]! / sum));
  return odds;
}

type Column = (each: ResidualCase) => number;
const scaleColumn: Column = (each) => each.spanLength;
const edgeColumn: Column = (each) => each.edgeShare;
/** A height stretched by 1 + k lengthens a sloping distance by k · dz² / L. */
const verticalColumn: Column = (each) => (each.spanLength > 0 ? (each.spanHeight * each.spanHeight) / each.spanLength : 0);

const COLUMNS: Readonly<Record<Exclude<ExplanationKind, 'blunder'>, readonly Column[]>> = {
  chance: [],
  scale: [scaleColumn],
  edge: [edgeColumn],
  'scale-and-edge': [scaleColumn, edgeColumn],
  'vertical-scale': [verticalColumn],
};

function fitModel(kind: ExplanationKind, cases: readonly ResidualCase[]): ModelFit | null {
  if (kind === 'blunder') return fitBlunder(cases);
  const columns = COLUMNS[kind];
  const solved = leastSquares(cases, columns);
  return solved && { kind, bic: solved.chiSquare + columns.length * log(cases.length), parameters: solved.parameters, sigmas: solved.sigmas };
}

/** A blunder costs a parameter for its size, and the prior odds of 1 in n of which reading it is (2 log n on the BIC scale). */
function fitBlunder(cases: readonly ResidualCase[]): ModelFit | null {
  if (cases.length < LEAST_READINGS) return null;
  const weighted = cases.map((each) => (each.residual / each.sigma) ** 2);
  const at = weighted.indexOf(Math.max(...weighted));
  const rest = weighted.reduce((sum, value) => sum + value, 0) - weighted[at]!;
  return { kind: 'blunder', bic: rest + 3 * log(cases.length), parameters: [cases[at]!.residual], sigmas: [cases[at]!.sigma], at };
}

function leastSquares(cases: readonly ResidualCase[], columns: readonly Column[]): { chiSquare: number; parameters: number[]; sigmas: number[] } | null {
  if (cases.length < columns.length) return null;
  const observed = cases.map((each) => each.residual / each.sigma);
  if (columns.length === 0) return { chiSquare: sumOfSquares(observed), parameters: [], sigmas: [] };
  const design = new Matrix(cases.map((each) => columns.map((column) => column(each) / each.sigma)));
  const normal = design.transpose().mmul(design);
  if (!isInvertible(normal)) return null;
  const covariance = inverse(normal);
  const parameters = covariance.mmul(design.transpose()).mmul(Matrix.columnVector(observed)).getColumn(0);
  const fitted = design.mmul(Matrix.columnVector(parameters)).getColumn(0);
  return {
    chiSquare: sumOfSquares(observed.map((value, index) => value - fitted[index]!)),
    parameters,
    sigmas: parameters.map((_, index) => Math.sqrt(covariance.get(index, index))),
  };
}

/** False when a column is all zero, or two say the same (readings of one length cannot part scale from edge). */
function isInvertible(normal: Matrix): boolean {
  if (normal.rows === 1) return normal.get(0, 0) > 0;
  const [a, b, d] = [normal.get(0, 0), normal.get(0, 1), normal.get(1, 1)];
  return a > 0 && d > 0 && 1 - (b * b) / (a * d) > 1e-9;
}

const sumOfSquares = (values: readonly number[]): number => values.reduce((sum, value) => sum + value * value, 0);
