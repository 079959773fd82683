import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect, test } from 'vitest';
import { seededRandom } from '../../src/geometry/seeded-random.ts';
import type { RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { portableEnvironment } from '../../src/survey/portable-environment.ts';
import { parseTruth } from '../../src/survey/score/parse-truth.ts';
import { scoreRecord } from '../../src/survey/score/score-record.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { holds, scriptedNumbers } from '../fixtures/scripted-picks.ts';

const SAMPLE = join(import.meta.dirname, '..', '..', 'sample-data');
const PICKS = 200;
const truth = parseTruth(readFileSync(join(SAMPLE, 'harbour-works.truth.json'), 'utf8'), 'harbour-works.truth.json');
let record: RoofRecord;

beforeAll(async () => {
  const handle = { name: 'harbour-works.las', where: new Uint8Array(readFileSync(join(SAMPLE, 'harbour-works.las'))) };
  ({ record } = await surveyFiles([handle], {}, directRunner(portableEnvironment)));
}, 120_000);

test(`of ${PICKS} distances, heights and areas on the sample at least 93 in 100 hold the truth within their ±`, () => {
  const numbers = scriptedNumbers(record, truth.planes, PICKS, seededRandom(5));
  expect(numbers).toHaveLength(PICKS);
  expect(new Set(numbers.map(({ what }) => what)).size).toBe(6);
  expect(numbers.filter(holds).length / PICKS).toBeGreaterThanOrEqual(0.93);
});

test('the wall between two cottages is one parapet, some two points thick; dormers end where their cheeks stand', () => {
  const score = scoreRecord(record, truth);
  expect(score.falseParapets).toEqual([]);
  for (const { lengthM, foundM, heightErrorM, thicknessErrorM } of score.parapets) {
    expect(foundM / lengthM).toBeGreaterThan(0.95);
    expect(Math.abs(heightErrorM!)).toBeLessThan(0.02);
    expect(Math.abs(thicknessErrorM!)).toBeLessThan(0.02);
  }
  const areas = score.intervals.filter(({ quantity }) => quantity === 'slope area');
  expect(areas).toHaveLength(26);
  expect(areas.filter(({ error, u95 }) => Math.abs(error) <= u95).length / areas.length).toBeGreaterThanOrEqual(0.9);
});
