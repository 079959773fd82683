import { length, subtract, type Vector3 } from '../../geometry/vector.ts';
import { explainResiduals, type Explanation, type ResidualCase } from '../../reading/explain-residuals.ts';
import { suggestTapes, type TapeCandidate } from '../../reading/next-tape.ts';
import { grubbsTest, meanAndDeviation, meanHalfWidth, rmseBracketFactors, rootMeanSquare } from '../../reading/sample-statistics.ts';
import type { RoofRecord, TapeCheck } from '../../roof/record.ts';
import type { TapeReading } from '../../site/tape-reading.ts';
import { isKnown, measured, missing, type Measured, type MeasuredValue } from '../../units/measured.ts';
import { SIGMAS_IN_95 } from '../measure/uncertainty.ts';
import { snapTargets, type SnapTargets } from '../measure/snap-targets.ts';
import { refusedIds } from '../refused-ids.ts';
import { ourValue, type OurValue } from './our-value.ts';
import { PLACING_DISTANCE, placeEnd } from './place-ends.ts';

/** Default tolerance of a reading: 3 cm. Common practice for module layout, no source. [m] */
export const DEFAULT_TOLERANCE = 0.03;
/** Inclinometer readings are judged by this. Common practice, no source. [deg] */
const PITCH_TOLERANCE_DEG = 0.5;
const SUGGESTIONS = 5;
const LEAST_EDGE_TO_TAPE = 1;

type CheckedReading = TapeCheck['readings'][number];
type ReadingVerdict = CheckedReading['verdict'];

interface Compared {
  readonly reading: TapeReading;
  readonly ours: OurValue;
  readonly row: CheckedReading;
  readonly lengthCase: ResidualCase | null;
}

/**
 * Compares readings taken on site with the record: residuals (ours minus tape) with the ± of both, what explains them,
 * and which lengths to tape next. Nothing of the record is corrected; that is a person's decision.
 */
export function checkTape(record: RoofRecord, readings: readonly TapeReading[], toleranceM = DEFAULT_TOLERANCE): TapeCheck {
  const targets = snapTargets(record, refusedIds(record));
  const compared = readings.flatMap((reading) => compare(reading, record, targets, toleranceM));
  const cases = compared.flatMap((each) => each.lengthCase ?? []);
  const residuals = cases.map((each) => each.residual);
  const explanation = explainResiduals(cases);
  const rows = flagOutlier(compared);
  const rmseM = residuals.length > 0 ? rootMeanSquare(residuals) : 0;
  const bracket = residuals.length > 0 ? rmseBracketFactors(residuals.length).map((factor) => factor * rmseM) : [0, 0];
  return {
    verdict: overall(rows, explanation),
    toleranceM,
    biasM: bias(residuals),
    rmseM,
    rmseBracketM: [bracket[0]!, bracket[1]!],
    count: residuals.length,
    explanation: recordExplanation(explanation),
    readings: rows,
    next: suggestions(targets, cases, compared),
  };
}

function compare(reading: TapeReading, record: RoofRecord, targets: SnapTargets, toleranceM: number): Compared[] {
  const ends = reading.ends.map((end): Vector3 => subtract(end, record.frame.origin));
  if (reading.kind === 'checkpoint') return compareCheckpoint(reading, ends[0], record, targets, toleranceM);
  const ours = ourValue(reading, ends, record, targets);
  return [comparedValue(reading, { id: reading.id, kind: reading.kind, value: reading.value!, toleranceM }, ours)];
}

/** A checkpoint tells three numbers; each is compared for itself. */
function compareCheckpoint(reading: TapeReading, at: Vector3 | undefined, record: RoofRecord, targets: SnapTargets, toleranceM: number): Compared[] {
  const placed = at ? placeEnd(at, targets, record.sampling) : null;
  const name = placed?.name ?? (at ? `nothing was found within ${PLACING_DISTANCE} m of it` : 'its place is not given');
  return (['x', 'y', 'z'] as const).map((axis, index) => {
    const ours: Measured = placed
      ? measured(placed.pick.at[index]! + record.frame.origin[index]!, [{ name: placed.pick.landedOn, u95: SIGMAS_IN_95 * placed.pick.sigmaM[index]! }])
      : missing(name);
    const value = at ? at[index]! + record.frame.origin[index]! : 0;
    return comparedValue(reading, { id: `${reading.id}-${axis}`, kind: `checkpoint-${axis}`, value, toleranceM }, { ...NO_SPAN, ours, placed: name });
  });
}

const NO_SPAN = { spanLength: 0, spanHeight: 0, betweenEdges: false } as const;

interface Asked {
  readonly id: string;
  readonly kind: string;
  readonly value: number;
  readonly toleranceM: number;
}

function comparedValue(reading: TapeReading, asked: Asked, ours: OurValue): Compared {
  const degrees = reading.kind === 'pitch';
  const tape = measured(asked.value, [{ name: 'instrument', u95: SIGMAS_IN_95 * reading.sigma }]);
  const residual: Measured = isKnown(ours.ours) ? residualOf(ours.ours, tape) : missing(ours.placed);
  const verdict = verdictOf(residual, degrees ? PITCH_TOLERANCE_DEG : asked.toleranceM);
  const angle = missing('an angle, see the degrees');
  const row: CheckedReading = {
    id: asked.id,
    kind: asked.kind,
    oursM: degrees ? angle : ours.ours,
    tapeM: degrees ? angle : tape,
    residualM: degrees ? angle : residual,
    ...(degrees ? { oursDeg: ours.ours, tapeDeg: tape, residualDeg: residual } : {}),
    verdict,
    note: ours.placed,
  };
  return { reading, ours, row, lengthCase: ours.spanLength > 0 && isKnown(residual) ? lengthCaseOf(residual, ours) : null };
}

const residualOf = (ours: MeasuredValue, tape: MeasuredValue): MeasuredValue =>
  measured(ours.value - tape.value, [{ name: 'model', u95: ours.u95 }, { name: 'instrument', u95: tape.u95 }]);

const lengthCaseOf = (residual: MeasuredValue, { spanLength, spanHeight, betweenEdges }: OurValue): ResidualCase => ({
  residual: residual.value,
  sigma: residual.u95 / SIGMAS_IN_95,
  spanLength,
  spanHeight,
  betweenEdges,
});

/** Within the tolerance: agrees. Beyond it by less than the ± of both: doubtful. Surely beyond it: disagrees. */
function verdictOf(residual: Measured, tolerance: number): ReadingVerdict {
  if (!isKnown(residual)) return 'not-compared';
  const size = Math.abs(residual.value);
  if (size <= tolerance) return 'agrees';
  return size - residual.u95 > tolerance ? 'disagrees' : 'doubtful';
}

/** Grubbs' test on the residuals in sigmas: an outlier is named, and stays in every figure. */
function flagOutlier(compared: readonly Compared[]): CheckedReading[] {
  const tested = compared.filter((each) => each.lengthCase !== null);
  const test = grubbsTest(tested.map(({ lengthCase }) => lengthCase!.residual / lengthCase!.sigma));
  const outlier = test?.isOutlier ? tested[test.index] : undefined;
  return compared.map((each) =>
    each === outlier ? { ...each.row, note: `${each.row.note}; outlier by Grubbs' test (${test!.statistic.toFixed(2)} > ${test!.critical.toFixed(2)}), kept` } : each.row,
  );
}

function overall(rows: readonly CheckedReading[], explanation: Explanation): TapeCheck['verdict'] {
  const has = (verdict: ReadingVerdict) => rows.some((row) => row.verdict === verdict);
  if (has('disagrees')) return 'disagrees';
  if (has('doubtful') || !has('agrees')) return 'doubtful';
  return explanation.kind === 'chance' || explanation.kind === 'cannot-tell' ? 'agrees' : 'doubtful';
}

function bias(residuals: readonly number[]): Measured {
  if (residuals.length < 2) return missing(`${residuals.length} readings, a bias needs at least 2`);
  return measured(meanAndDeviation(residuals).mean, [{ name: 'spread of the residuals', u95: meanHalfWidth(residuals) }]);
}

function recordExplanation({ kind, odds, fits, why }: Explanation): TapeCheck['explanation'] {
  const fit = fits.find((each) => each.kind === kind);
  const parameter = (index: number, name: string): Measured =>
    fit ? measured(fit.parameters[index]!, [{ name, u95: SIGMAS_IN_95 * fit.sigmas[index]! }]) : missing(why);
  const hasScale = kind === 'scale' || kind === 'scale-and-edge' || kind === 'vertical-scale';
  const hasEdge = kind === 'edge' || kind === 'scale-and-edge';
  return {
    kind,
    odds,
    scale: hasScale ? parameter(0, 'readings') : missing(`${kind}: no scale error is claimed`),
    edgeOffsetM: hasEdge ? parameter(kind === 'edge' ? 0 : 1, 'readings') : missing(`${kind}: no edge offset is claimed`),
  };
}

function suggestions(targets: SnapTargets, cases: readonly ResidualCase[], compared: readonly Compared[]): TapeCheck['next'] {
  const taken = new Set(compared.map((each) => each.ours.placed));
  const sigma = cases.length > 0 ? Math.min(...cases.map((each) => each.sigma)) : 0.01;
  const candidates: TapeCandidate[] = targets.edges
    .map((edge) => ({
      edge: edge.id,
      name: edge.name,
      spanLength: length(subtract(edge.to, edge.from)),
      spanHeight: Math.abs(edge.to[2] - edge.from[2]),
      sigma: edge.sidewaysSigmaM === null ? sigma : Math.hypot(edge.sidewaysSigmaM * Math.SQRT2, 0.003),
    }))
    .filter((edge) => edge.spanLength >= LEAST_EDGE_TO_TAPE && !taken.has(`edge ${edge.name}`));
  return suggestTapes(cases, candidates, SUGGESTIONS).map(({ edge, why }) => ({ edge, why }));
}
