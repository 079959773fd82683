import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { seededRandom } from '../../src/geometry/seeded-random.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { portableEnvironment } from '../../src/survey/portable-environment.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { holds, scriptedNumbers, type TruePlane } from '../fixtures/scripted-picks.ts';

const SAMPLE = join(import.meta.dirname, '..', '..', 'sample-data');
const PICKS = 200;

test(`of ${PICKS} distances, heights and areas on the sample at least 93 in 100 hold the truth within their ±`, async () => {
  const handle = { name: 'harbour-works.las', where: new Uint8Array(readFileSync(join(SAMPLE, 'harbour-works.las'))) };
  const { record } = await surveyFiles([handle], {}, directRunner(portableEnvironment));
  const truth = JSON.parse(readFileSync(join(SAMPLE, 'harbour-works.truth.json'), 'utf8')) as { planes: TruePlane[] };
  const numbers = scriptedNumbers(record, truth.planes, PICKS, seededRandom(5));
  expect(numbers).toHaveLength(PICKS);
  expect(new Set(numbers.map(({ what }) => what)).size).toBe(6);
  expect(numbers.filter(holds).length / PICKS).toBeGreaterThanOrEqual(0.93);
}, 120_000);
