import { crossingError } from './crossed-error.ts';
import { buffersOf } from './transferables.ts';
import { taskBodies } from './task-bodies.ts';
import type { Environment } from './source-handle.ts';
import type { AnswerMessage, TaskMessage } from './task-messages.ts';

/** The worker's end of a channel: `self` in a page, the parent port under Node. */
export interface WorkerEnd {
  post(message: AnswerMessage, transfer: ArrayBuffer[]): void;
  onMessage(take: (message: TaskMessage) => void): void;
}

const PROGRESS_STEP = 0.02;

/** Answers every task message that arrives. A worker that failed is not used again: the other side ends it. */
export function serveTasks(end: WorkerEnd, environment: Environment): void {
  end.onMessage((message) => void answer(message, end, environment));
}

async function answer({ id, name, input }: TaskMessage, end: WorkerEnd, environment: Environment): Promise<void> {
  let shown = 0;
  const onProgress = (fraction: number): void => {
    if (fraction < 1 && fraction - shown < PROGRESS_STEP) return;
    shown = fraction;
    end.post({ id, kind: 'progress', fraction }, []);
  };
  try {
    const output = await taskBodies[name](input, { environment, onProgress, shouldStop: () => false });
    end.post({ id, kind: 'done', output }, buffersOf(output));
  } catch (error) {
    end.post({ id, kind: 'failed', error: crossingError(error) }, []);
  }
}
