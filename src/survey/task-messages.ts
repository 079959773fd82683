import type { CrossedError } from './crossed-error.ts';
import type { TaskName } from './tasks.ts';

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
