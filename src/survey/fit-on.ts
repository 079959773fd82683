import { fitGroups } from '../layout/fit-group.ts';
import { checkFitOptions, type FitOptions } from '../layout/fit-options.ts';
import { joinFit } from '../layout/fit-record.ts';
import type { FittedBuilding } from '../layout/fit-group.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

export interface FitRunHooks {
  readonly signal?: AbortSignal | undefined;
  readonly onProgress?: ((fraction: number) => void) | undefined;
}

/**
 * `fitRecord` in the runner's threads; the same answer.
 *
 * @param surface  Of the measured cloud; null when only the record is at hand.
 * @throws InputError for options that cannot be used.
 */
export async function fitRecordOn(record: RoofRecord, options: FitOptions, surface: SurfaceModel | null, runner: TaskRunner, hooks: FitRunHooks = {}): Promise<RoofRecord> {
  const checked = checkFitOptions(options);
  const groups = fitGroups(record, checked, surface);
  const answers = new Array<readonly FittedBuilding[]>(groups.length);
  await runInOrder(runner, 'fit-buildings', groups.length, (index) => ({ input: groups[index]! }), (answer, index) => (answers[index] = answer), hooks);
  return joinFit(record, checked, answers.flat(), { hasSurface: surface !== null });
}
