import { InputError } from '../units/input-error.ts';
import { buffersOf } from './transferables.ts';
import { taskBodies } from './task-bodies.ts';
import type { TaskName } from './tasks.ts';
import type { Environment } from './source-handle.ts';

/** To a worker. */
export interface TaskMessage {
  readonly id: number;
  readonly name: TaskName;
  readonly input: never;
}

/** From a worker. */
export type AnswerMessage =
  | { readonly id: number; readonly kind: 'progress'; readonly fraction: number }
  | { readonly id: number; readonly kind: 'done'; readonly output: unknown }
  | { readonly id: number; readonly kind: 'failed'; readonly error: CrossedError };

/** An error with all that is needed to throw it again on the other side. */
export interface CrossedError {
  readonly kind: 'input' | 'ours';
  readonly subject: string;
  readonly message: string;
  readonly stack: string;
}

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

/** Makes an error ready to cross between threads. */
export function crossingError(error: unknown): CrossedError {
  if (error instanceof InputError) {
    return { kind: 'input', subject: error.subject, message: error.detail, stack: '' };
  }
  const ours = error instanceof Error ? error : new Error(String(error));
  return { kind: 'ours', subject: ours.name, message: ours.message, stack: ours.stack ?? '' };
}

/** The same error on the other side. */
export function arrivedError(error: CrossedError): Error {
  if (error.kind === 'input') return new InputError(error.subject, error.message);
  const ours = new Error(error.message);
  ours.name = error.subject;
  ours.stack = error.stack;
  return ours;
}
