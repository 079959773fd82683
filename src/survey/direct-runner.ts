import { CancelledError, type RunOptions, type TaskRunner } from './task-runner.ts';
import { taskBodies } from './task-bodies.ts';
import type { TaskName, Tasks } from './tasks.ts';
import type { Environment } from './source-handle.ts';

/** Runs each task at once in the calling thread: for tests, for small work, and to ask why something is slow. */
export function directRunner(environment: Environment): TaskRunner {
  return {
    width: 1,
    sharesMemory: false,
    async run<Name extends TaskName>(name: Name, input: Tasks[Name]['input'], options: RunOptions = {}) {
      const shouldStop = () => options.signal?.aborted ?? false;
      if (shouldStop()) throw new CancelledError();
      const answer = await taskBodies[name](input, {
        environment,
        onProgress: options.onProgress ?? (() => undefined),
        shouldStop,
      });
      if (shouldStop()) throw new CancelledError();
      return answer;
    },
    close: () => undefined,
  };
}
