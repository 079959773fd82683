import { expect, test } from 'vitest';
import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import { scoreRecord } from '../../src/survey/score/score-record.ts';
import { surveyPoints } from '../accuracy/survey-points.ts';

// A face of 1.9 m² at 45°, twice as long as wide: measured along the slope one way only it was eight times as long, a strip.
test('steep faces of a small dormer are planes, not strips', async () => {
  const scene = makeScene('dormers', 6006, { ...NOISE_MODELS.correlated, spacing: 0.02 });
  const record = await surveyPoints(scene.positions, scene.colours);
  const { planeMatches } = scoreRecord(record, scene.truth, 'dormers');
  expect(planeMatches.map(({ truth }) => truth).sort()).toEqual(scene.truth.planes.map(({ id }) => id).sort());
});
