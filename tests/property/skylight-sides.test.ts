import { expect, test } from 'vitest';
import { scoreRecord } from '../../src/survey/score/score-record.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { DEFAULT_ASSUMPTIONS } from '../../src/reading/assumptions.ts';
import { caseName, type AccuracyCase } from '../accuracy/case-list.ts';
import { movedTruth, surveyCentre } from '../accuracy/moved-truth.ts';
import { drawSurveyError, movePoints, surveyMatrix } from '../accuracy/survey-error.ts';
import { surveyPoints } from '../accuracy/survey-points.ts';

// Glass keeps a third of its points: the side of a skylight, seen through 2 cm of noise, was a plane of 46° with 13 voxels.
test('the blur between a deck and a skylight is no plane', async () => {
  const c: AccuracyCase = { kind: 'flat', seed: 6003, noise: 'correlated', spacing: 0.05 };
  const scene = makeScene(c.kind, c.seed, { ...NOISE_MODELS.correlated, spacing: c.spacing });
  const error = { ...drawSurveyError(caseName(c), DEFAULT_ASSUMPTIONS), groundCover: 0 };
  movePoints(scene.positions, surveyMatrix(error), surveyCentre(scene.truth));
  const record = await surveyPoints(scene.positions, scene.colours);
  const { topology } = scoreRecord(record, movedTruth(scene.truth, error), 'flat');
  expect(topology).toMatchObject({ oneToOne: 8, invented: 0 });
});
