import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import type { PointAttributes } from '../cloud/cloud.ts';
import { planGrid } from '../cloud/plan-grid.ts';
import { makeLocalFrame } from '../site/make-local-frame.ts';
import { InputError } from '../units/input-error.ts';
import { toLocalInPlace } from '../site/to-local.ts';
import { boundsOf } from './read-points.ts';
import { CellCollector } from './read-cloud.ts';
import { surveyCloud } from './survey-cloud.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyHooks, SurveyResult } from './survey-result.ts';
import type { TaskRunner } from './task-runner.ts';

/** Points that are in memory already, in metres. */
export interface PointsInMemory extends PointAttributes {
  readonly name: string;
  /** x, y, z, `n × 3`, source coordinates, z up. [m] */
  readonly positions: Float64Array;
  /** `EPSG:n`, or null when no projection is known. */
  readonly crs: string | null;
}

/** The survey of points in memory, by the same path as files take. @throws InputError when there is no point. */
export async function surveyPoints(points: PointsInMemory, options: SurveyOptions, runner: TaskRunner, hooks: SurveyHooks = {}): Promise<SurveyResult> {
  const { name, crs, colours, intensity, classification } = points;
  const positions = points.positions.slice();
  const bounds = boundsOf(positions);
  if (!bounds) throw new InputError(name, 'holds no point.');
  const pointCount = positions.length / 3;
  const frame = await makeLocalFrame(bounds, crs);
  const [x0, y0] = frame.origin;
  const grid = planGrid({ min: [bounds.min[0] - x0, bounds.min[1] - y0, 0], max: [bounds.max[0] - x0, bounds.max[1] - y0, 0] }, pointCount);
  toLocalInPlace(positions, { up: 'z', unitToMetre: 1, verticalUnitToMetre: 1, frame });
  const collector = new CellCollector(grid);
  collector.addPoints({ pointCount, positions, colours, intensity, classification });
  const cloud = await collector.finish(name, runner, hooks.signal ? { signal: hooks.signal } : {});
  hooks.onCloud?.(cloud, frame);
  const bytes = new Uint8Array(points.positions.buffer, points.positions.byteOffset, points.positions.byteLength);
  const source = { file: name, sha256: bytesToHex(sha256(bytes)), format: 'points in memory', pointCount, triangleCount: 0, unitToMetre: 1, crs, notes: [] };
  const measuredCloud = await surveyCloud(cloud, frame, async () => [source], options, runner, hooks);
  return { ...measuredCloud, cloud, meshes: [], frame };
}
