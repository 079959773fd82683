import type { TaskName, Tasks } from './tasks.ts';

export interface RunOptions {
  readonly signal?: AbortSignal;
  /** From 0 to 1, each time larger; 1 exactly once. */
  readonly onProgress?: (fraction: number) => void;
  /** Buffers of the input that move to the task and are gone here. */
  readonly transfer?: readonly ArrayBuffer[];
}

/** Runs tasks by name, here or in workers; the answer is the same. */
export interface TaskRunner {
  /** How many tasks run at the same time. */
  readonly width: number;
  /** True where points may stand in memory that its threads share. Where not, they are copied to each: slower, same answers. */
  readonly sharesMemory: boolean;
  run<Name extends TaskName>(name: Name, input: Tasks[Name]['input'], options?: RunOptions): Promise<Tasks[Name]['output']>;
  /** Ends its workers. */
  close(): void;
}

/** Thrown when the caller's signal ended the work. */
export class CancelledError extends Error {
  override readonly name = 'CancelledError';
  constructor() {
    super('Cancelled.');
  }
}

/**
 * Runs one task for each input with at most `runner.width` under way, and keeps the answers in the order of the inputs.
 * Inputs are made one at a time, so that what they carry is only in memory while it is worked on.
 */
export async function runInOrder<Name extends TaskName>(
  runner: TaskRunner,
  name: Name,
  count: number,
  inputOf: (index: number) => { input: Tasks[Name]['input']; transfer?: readonly ArrayBuffer[] },
  onAnswer: (answer: Tasks[Name]['output'], index: number) => void,
  options: { readonly signal?: AbortSignal | undefined; readonly onProgress?: ((fraction: number) => void) | undefined } = {},
): Promise<void> {
  let next = 0;
  let finished = 0;
  const lane = async (): Promise<void> => {
    while (next < count) {
      const index = next++;
      const { input, transfer } = inputOf(index);
      const answer = await runner.run(name, input, {
        ...(options.signal ? { signal: options.signal } : {}),
        ...(transfer ? { transfer } : {}),
      });
      onAnswer(answer, index);
      finished++;
      options.onProgress?.(finished / count);
    }
  };
  await Promise.all(Array.from({ length: Math.min(runner.width, count) }, lane));
}
