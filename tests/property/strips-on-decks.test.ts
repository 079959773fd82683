import { expect, test } from 'vitest';
import { scoreRecord } from '../../src/survey/score/score-record.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { DEFAULT_ASSUMPTIONS } from '../../src/reading/assumptions.ts';
import { caseName, type AccuracyCase } from '../accuracy/case-list.ts';
import { movedTruth, surveyCentre } from '../accuracy/moved-truth.ts';
import { drawSurveyError, movePoints, surveyMatrix } from '../accuracy/survey-error.ts';
import { surveyPoints } from '../accuracy/survey-points.ts';

// Waves of noise level the last metre before a parapet: a strip of 17 m by 1.2 m, refused as a plane, left two falls short of their rim.
test('falls reach their parapet where noise makes a strip of their rim', async () => {
  const c: AccuracyCase = { kind: 'flat', seed: 5006, noise: 'correlated', spacing: 0.02 };
  const scene = makeScene(c.kind, c.seed, { ...NOISE_MODELS.correlated, spacing: c.spacing });
  const error = { ...drawSurveyError(caseName(c), DEFAULT_ASSUMPTIONS), groundCover: 0 };
  movePoints(scene.positions, surveyMatrix(error), surveyCentre(scene.truth));
  const record = await surveyPoints(scene.positions, scene.colours);
  const { topology, edges, extraEdges } = scoreRecord(record, movedTruth(scene.truth, error), 'flat');
  expect(topology).toMatchObject({ oneToOne: 8, invented: 0 });
  expect(edges.filter(({ recordKind }) => recordKind === null)).toEqual([]);
  expect(extraEdges).toEqual([]);
}, 60_000);
