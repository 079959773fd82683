import { buildCloud } from '../../src/cloud/build-cloud.ts';
import { planGrid } from '../../src/cloud/plan-grid.ts';
import type { RoofRecord } from '../../src/roof/record.ts';
import { makeLocalFrame } from '../../src/site/make-local-frame.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { portableEnvironment } from '../../src/survey/portable-environment.ts';
import { boundsOf } from '../../src/survey/read-points.ts';
import { surveyCloud } from '../../src/survey/survey-cloud.ts';
import type { SurveyOptions } from '../../src/survey/survey-options.ts';

/**
 * Surveys points that are already in memory, as the pipeline surveys those of a file; in one thread.
 *
 * @param positions  Source coordinates, z up, `n × 3`. [m]
 */
export async function surveyPoints(positions: Float64Array, colours: Uint8Array | null, options: SurveyOptions = {}): Promise<RoofRecord> {
  const bounds = boundsOf(positions);
  if (!bounds) throw new RangeError('Expected at least one point.');
  const frame = await makeLocalFrame(bounds, null);
  const local = positions.slice();
  for (let i = 0; i < local.length; i++) local[i]! -= frame.origin[i % 3]!;
  const shift = (corner: readonly [number, number, number]) => [corner[0] - frame.origin[0], corner[1] - frame.origin[1], corner[2] - frame.origin[2]] as const;
  const pointCount = positions.length / 3;
  const grid = planGrid({ min: shift(bounds.min), max: shift(bounds.max) }, pointCount);
  const cloud = buildCloud([{ pointCount, positions: local, colours, intensity: null, classification: null }], grid);
  const measured = await surveyCloud(cloud, frame, async () => [], options, directRunner(portableEnvironment), {});
  return measured.record;
}
