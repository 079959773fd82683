import { length, subtract, type Vector3 } from '../../geometry/vector.ts';
import { explainResiduals, type Explanation, type ResidualCase } from '../../reading/explain-residuals.ts';
import { suggestTapes, type TapeCandidate } from '../../reading/next-tape.ts';
import { grubbsTest, meanAndDeviation, meanHalfWidth, rmseBracketFactors, rootMeanSquare } from '../../reading/sample-statistics.ts';
import type { CheckedReading, RoofRecord, TapeCheck } from '../../roof/record.ts';
import type { TapeReading } from '../../site/tape-reading.ts';
import { measured, missing, type Measured } from '../../units/measured.ts';
import { SIGMAS_IN_95 } from '../measure/uncertainty.ts';
import { snapTargets, type EdgeTarget } from '../measure/snap-targets.ts';
import { refusedIds } from '../../roof/refused-ids.ts';
import { checkpointAccuracy, placeCheckpoints, siteFit } from './checkpoints.ts';
import { compareCheckpoint, compareReading, type Compared } from './compare-reading.ts';
import { edgeShares } from './edge-share.ts';
import type { Model } from './our-value.ts';
import { PLACING_DISTANCE } from './place-ends.ts';
import { tapeNotes } from './tape-notes.ts';

/** Default tolerance of a reading: 3 cm. Common practice for module layout, no source. [m] */
export const DEFAULT_TOLERANCE = 0.03;
const SUGGESTIONS = 5;
const LEAST_EDGE_TO_TAPE = 1;

/**
 * Compares readings taken on site with the record: residuals (ours minus tape) with the ± of both, what explains them,
 * how the model lies against surveyed checkpoints, and which lengths to tape next. Nothing of the record is corrected;
 * that is a person's decision.
 */
export function checkTape(record: RoofRecord, readings: readonly TapeReading[], toleranceM = DEFAULT_TOLERANCE): TapeCheck {
  const targets = snapTargets(record, refusedIds(record));
  const model: Model = { record, targets, shareOf: edgeShares(record) };
  const points = placeCheckpoints(readings, record, targets);
  const compared = readings.flatMap((reading) => {
    if (reading.kind !== 'checkpoint') return [compareReading(reading, model, toleranceM)];
    return compareCheckpoint(reading, points.find(({ id }) => id === reading.id)!, record.frame.origin, toleranceM);
  });
  const cases = compared.flatMap((each) => each.lengthCase ?? []);
  const residuals = cases.map((each) => each.residual);
  const explanation = explainResiduals(cases);
  const rows = flagOutlier(compared);
  const rmseM = residuals.length > 0 ? rootMeanSquare(residuals) : 0;
  const bracket = residuals.length > 0 ? rmseBracketFactors(residuals.length).map((factor) => factor * rmseM) : [0, 0];
  const accuracy = checkpointAccuracy(points);
  const site = siteFit(points);
  return {
    verdict: overall(rows, explanation),
    toleranceM,
    biasM: bias(residuals),
    rmseM,
    rmseBracketM: [bracket[0]!, bracket[1]!],
    count: residuals.length,
    explanation: recordExplanation(explanation, compared.filter(({ lengthCase }) => lengthCase !== null).map(({ row }) => row.id)),
    readings: rows,
    next: suggestions(model, cases, compared),
    taken: readings,
    ...(accuracy ? { accuracy } : {}),
    ...(site ? { site } : {}),
    notes: tapeNotes(record, readings, cases, explanation),
  };
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
  const has = (verdict: CheckedReading['verdict']) => rows.some((row) => row.verdict === verdict);
  if (has('disagrees')) return 'disagrees';
  if (has('doubtful') || !has('agrees')) return 'doubtful';
  return explanation.kind === 'chance' || explanation.kind === 'cannot-tell' ? 'agrees' : 'doubtful';
}

function bias(residuals: readonly number[]): Measured {
  if (residuals.length < 2) return missing(`${residuals.length} ${residuals.length === 1 ? 'reading' : 'readings'}, a bias needs at least 2`);
  return measured(meanAndDeviation(residuals).mean, [{ name: 'spread of the residuals', u95: meanHalfWidth(residuals) }]);
}

/** @param ids  Of the readings the explanation rests on, in their order. */
function recordExplanation({ kind, odds, fits, why }: Explanation, ids: readonly string[]): TapeCheck['explanation'] {
  const fit = fits.find((each) => each.kind === kind);
  const parameter = (index: number, name: string): Measured =>
    fit ? measured(fit.parameters[index]!, [{ name, u95: SIGMAS_IN_95 * fit.sigmas[index]! }]) : missing(why);
  const hasScale = kind === 'scale' || kind === 'scale-and-edge' || kind === 'vertical-scale';
  const edgeAt = kind === 'edge' ? 0 : kind === 'scale-and-edge' ? 1 : -1;
  return {
    kind,
    odds: Object.fromEntries(Object.entries(odds).map(([name, share]) => [name, Math.round(1000 * share) / 1000])),
    scale: hasScale ? parameter(0, 'readings') : missing(`${kind.replace('-', ' ')}: no scale error is claimed`),
    edgeOffsetM: edgeAt >= 0 ? parameter(edgeAt, 'readings') : missing(`${kind.replace('-', ' ')}: no edge offset is claimed`),
    why: fit?.at === undefined ? why : `${why} It is ${ids[fit.at]}.`,
  };
}

function suggestions({ targets, shareOf }: Model, cases: readonly ResidualCase[], compared: readonly Compared[]): TapeCheck['next'] {
  const taken = compared.flatMap(({ row }) => (row.placedAt?.length === 2 ? [row.placedAt] : []));
  const sigma = cases.length > 0 ? Math.min(...cases.map((each) => each.sigma)) : 0.01;
  const candidates: TapeCandidate[] = edgesAtHand(targets.edges, taken)
    .map((edge) => ({
      edge: edge.id,
      name: edge.name,
      spanLength: length(subtract(edge.to, edge.from)),
      spanHeight: Math.abs(edge.to[2] - edge.from[2]),
      edgeShare: shareOf({ from: edge.from, to: edge.to, measures: 'slope' }),
      sigma: edge.sidewaysSigmaM === null ? sigma : Math.hypot(edge.sidewaysSigmaM * Math.SQRT2, 0.003),
      isTaken: taken.some((places) => isAlong(places, edge)),
    }))
    .filter(({ spanLength, isTaken }) => spanLength >= LEAST_EDGE_TO_TAPE && !isTaken);
  return suggestTapes(cases, candidates, SUGGESTIONS).map(({ edge, why }) => ({ edge, why }));
}

/** Edges of the buildings that were taped: who reads a list on one roof is not sent over the whole block. All, where none was. */
function edgesAtHand(edges: readonly EdgeTarget[], taken: readonly (readonly Vector3[])[]): readonly EdgeTarget[] {
  const buildingOf = ({ id }: EdgeTarget): string => id.slice(0, id.indexOf('.'));
  const taped = new Set(edges.filter((edge) => taken.some((places) => places.some((p) => isNearBox(p, edge)))).map(buildingOf));
  return taped.size > 0 ? edges.filter((edge) => taped.has(buildingOf(edge))) : edges;
}

/** True within the placing distance of the box about an edge. */
const isNearBox = (p: Vector3, { from, to }: EdgeTarget): boolean =>
  [0, 1, 2].every((i) => p[i]! > Math.min(from[i]!, to[i]!) - PLACING_DISTANCE && p[i]! < Math.max(from[i]!, to[i]!) + PLACING_DISTANCE);

/** True when a reading was taken from end to end of an edge. */
function isAlong([a, b]: readonly Vector3[], { from, to }: EdgeTarget): boolean {
  const near = (p: Vector3, q: Vector3): boolean => length(subtract(p, q)) <= PLACING_DISTANCE;
  return (near(a!, from) && near(b!, to)) || (near(a!, to) && near(b!, from));
}
