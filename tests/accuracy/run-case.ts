import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import type { RoofRecord } from '../../src/roof/record.ts';
import { scoreRecord } from '../../src/survey/score/score-record.ts';
import type { IntervalSeen, Quantity, Score } from '../../src/survey/score/score.ts';
import type { Truth } from '../../src/survey/score/truth.ts';
import { DEFAULT_ASSUMPTIONS } from '../../src/reading/assumptions.ts';
import { outlinesOfKnownPoints, type KnownOutline } from './area-oracle.ts';
import { caseName, type AccuracyCase } from './case-list.ts';
import { movedTruth, surveyCentre } from './moved-truth.ts';
import { oraclePitchU95 } from './oracle.ts';
import { coverGround, drawSurveyError, movePoints, surveyMatrix, type SurveyError } from './survey-error.ts';
import { surveyPoints } from './survey-points.ts';

export interface CaseResult {
  readonly case: AccuracyCase;
  readonly name: string;
  /** Against the truth as this survey's control shows it, but its intervals against the truth itself. */
  readonly score: Score;
  /** What the cloud tells of itself: intervals without the shares of control, against the truth as this control shows it. */
  readonly ownIntervals: readonly IntervalSeen[];
  readonly pointCount: number;
  /** Processor time of the survey, so that a busy machine does not count. */
  readonly seconds: number;
  /** Stated 95 % half width of the pitch over the oracle's, for found planes of 2 m² and more. */
  readonly widthRatios: readonly number[];
  /** The oracle's 95 % half widths of the pitch of true planes of 10 m² and more. [deg] */
  readonly oracleU95Deg: readonly number[];
  /** True planes' outlines with every point's plane known. */
  readonly oracleOutlines: readonly KnownOutline[];
  /** What the survey threw, if it did; its roof then counts as not found. */
  readonly failure: string | null;
}

/**
 * Makes the scene, moves its points by what the control of a survey may be wrong by, covers its ground, surveys, and scores the record.
 *
 * @param error  Default: drawn from what the engine assumes of a survey of which nothing is stated.
 */
export async function runCase(c: AccuracyCase, error: SurveyError = drawSurveyError(caseName(c), DEFAULT_ASSUMPTIONS)): Promise<CaseResult> {
  const name = caseName(c);
  const scene = makeScene(c.kind, c.seed, { ...NOISE_MODELS[c.noise], spacing: c.spacing });
  const pointCount = scene.positions.length / 3;
  const oracleOutlines = outlinesOfKnownPoints(scene.positions, scene.truth);
  coverGround(scene.positions, [...new Set(scene.truth.buildings.map(({ groundElevationM }) => groundElevationM))], error.groundCover);
  movePoints(scene.positions, surveyMatrix(error), surveyCentre(scene.truth));
  const before = process.cpuUsage();
  let record: RoofRecord | null = null;
  let failure: string | null = null;
  try {
    record = await surveyPoints(scene.positions, scene.colours);
  } catch (thrown) {
    failure = thrown instanceof Error ? `${thrown.name}: ${thrown.message} ${thrown.stack?.split('\n')[1]?.trim() ?? ''}` : String(thrown);
  }
  const used = process.cpuUsage(before);
  const seconds = (used.user + used.system) / 1e6;
  const { score, ownIntervals } = scoreBoth(record ?? nothingFound(scene.sourceOrigin), scene.truth, movedTruth(scene.truth, error), name);
  return {
    case: c, name, score, ownIntervals, pointCount, seconds, failure, widthRatios: record ? widthRatios(score, record, scene.truth) : [], oracleOutlines,
    oracleU95Deg: scene.truth.planes.filter((p) => p.slopeAreaM2 >= 10).map((p) => oraclePitchU95(p, scene.truth)),
  };
}

/** Where something lies is stated within the survey: where all of it lies, no ± of the record says. */
const PLACES: ReadonlySet<Quantity> = new Set(['edge position', 'ground elevation']);

/** Figures and what the cloud tells of itself by the moved truth; stated intervals by the truth itself. */
export function scoreBoth(record: RoofRecord, truth: Truth, moved: Truth, name: string): Pick<CaseResult, 'score' | 'ownIntervals'> {
  const score = scoreRecord(record, moved, name);
  const stated = scoreRecord(record, truth, name).intervals.filter(({ quantity }) => !PLACES.has(quantity));
  return {
    score: { ...score, intervals: [...stated, ...score.intervals.filter(({ quantity }) => PLACES.has(quantity))] },
    ownIntervals: score.intervals.map((seen) => ({ ...seen, u95: seen.ownU95 })),
  };
}

function widthRatios(score: Score, record: RoofRecord, truth: Parameters<typeof oraclePitchU95>[1]): number[] {
  const planes = new Map(record.buildings.flatMap((b) => b.roofPlanes).map((p) => [p.id, p]));
  return score.planeMatches.flatMap((m) => {
    const pitch = planes.get(m.record)!.pitchDeg;
    if (m.slopeAreaM2 < 2 || pitch.value === null) return [];
    return [pitch.u95 / oraclePitchU95(truth.planes.find((p) => p.id === m.truth)!, truth)];
  });
}

const nothingFound = (origin: readonly [number, number, number]): RoofRecord => ({
  schema: 'roofdatum-record/1', madeBy: { version: '', options: {}, seed: 0 }, sources: [],
  frame: { origin, gridToTrueDeg: 0, scaleFactor: 1 },
  sampling: { pointSpacingM: 0, groundSampleDistanceM: null, noiseM: 0, correlationLengthM: 0 },
  buildings: [], readings: [], tape: null, smallFeatures: [], keepClear: null, usable: null, layout: null, decisions: [],
});
