import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import type { RoofRecord } from '../../src/roof/record.ts';
import { scoreRecord } from '../../src/survey/score/score-record.ts';
import type { Score } from '../../src/survey/score/score.ts';
import { outlinesOfKnownPoints, type KnownOutline } from './area-oracle.ts';
import { caseName, type AccuracyCase } from './case-list.ts';
import { oraclePitchU95 } from './oracle.ts';
import { surveyPoints } from './survey-points.ts';

export interface CaseResult {
  readonly case: AccuracyCase;
  readonly name: string;
  readonly score: Score;
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

/** Makes the scene, surveys its points, and scores the record. */
export async function runCase(c: AccuracyCase): Promise<CaseResult> {
  const name = caseName(c);
  const scene = makeScene(c.kind, c.seed, { ...NOISE_MODELS[c.noise], spacing: c.spacing });
  const pointCount = scene.positions.length / 3;
  const before = process.cpuUsage();
  let record: RoofRecord | null = null;
  let failure: string | null = null;
  try {
    record = await surveyPoints(scene.positions, scene.colours);
  } catch (error) {
    failure = error instanceof Error ? `${error.name}: ${error.message} ${error.stack?.split('\n')[1]?.trim() ?? ''}` : String(error);
  }
  const used = process.cpuUsage(before);
  const seconds = (used.user + used.system) / 1e6;
  const score = scoreRecord(record ?? nothingFound(scene.sourceOrigin), scene.truth, name);
  return {
    case: c, name, score, pointCount, seconds, failure, widthRatios: record ? widthRatios(score, record, scene.truth) : [],
    oracleOutlines: outlinesOfKnownPoints(scene.positions, scene.truth),
    oracleU95Deg: scene.truth.planes.filter((p) => p.slopeAreaM2 >= 10).map((p) => oraclePitchU95(p, scene.truth)),
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
