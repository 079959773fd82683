import type { SurveyHooks } from './survey-result.ts';
import type { TaskRunner } from './task-runner.ts';

/**
 * Lets this thread and the runner's free what they no longer refer to; shared memory is free only once all of them have. To be
 * asked while the runner has nothing to do: each thread then gets one of the tasks.
 */
export async function letGo(runner: TaskRunner, { collect }: Pick<SurveyHooks, 'collect'>): Promise<void> {
  if (!collect) return;
  collect();
  await Promise.all(Array.from({ length: runner.width }, () => runner.run('let-go', {})));
}
