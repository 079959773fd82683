import { CancelledError, type RunOptions, type TaskRunner } from './task-runner.ts';
import { arrivedError } from './crossed-error.ts';
import type { AnswerMessage, TaskMessage } from './task-messages.ts';
import type { TaskName, Tasks } from './tasks.ts';

/** This side's end of a worker: a `Worker` in a page, a worker thread under Node. */
export interface WorkerPort {
  post(message: TaskMessage, transfer: readonly ArrayBuffer[]): void;
  onMessage(take: (message: AnswerMessage) => void): void;
  /** Called when the worker died without an answer. */
  onDeath(take: (why: string) => void): void;
  end(): void;
}

interface Job {
  readonly name: TaskName;
  readonly input: unknown;
  readonly options: RunOptions;
  readonly resolve: (output: never) => void;
  readonly reject: (error: Error) => void;
}

interface Seat {
  port: WorkerPort | null;
  job: Job | null;
}

/**
 * Runs tasks in a fixed number of workers, started when first needed. A worker whose task failed or was cancelled is
 * thrown away and replaced, so that nothing of a broken file stays in memory.
 *
 * @param start  Starts one worker. @param width  How many at most.
 * @param sharesMemory  Whether tasks may leave points in shared memory. Not in a page: it hands its points on to its own
 *   thread and stores them, and is not always allowed to share.
 */
export function workerRunner(start: () => WorkerPort, width: number, sharesMemory = false): TaskRunner {
  const seats: Seat[] = Array.from({ length: width }, () => ({ port: null, job: null }));
  const queue: Job[] = [];
  let nextId = 1;

  function giveOut(): void {
    for (const seat of seats) {
      if (seat.job) continue;
      const job = queue.shift();
      if (!job) return;
      begin(seat, job);
    }
  }

  function begin(seat: Seat, job: Job): void {
    const id = nextId++;
    seat.job = job;
    const port = (seat.port ??= start());
    port.onDeath((why) => settle(seat, job, true, () => job.reject(new Error(`The worker ended: ${why}`))));
    port.onMessage((answer) => {
      if (answer.id !== id) return;
      if (answer.kind === 'progress') job.options.onProgress?.(answer.fraction);
      else if (answer.kind === 'done') settle(seat, job, false, () => job.resolve(answer.output as never));
      else settle(seat, job, true, () => job.reject(arrivedError(answer.error)));
    });
    job.options.signal?.addEventListener('abort', () => settle(seat, job, true, () => job.reject(new CancelledError())));
    port.post({ id, name: job.name, input: job.input as never }, job.options.transfer ?? []);
  }

  function settle(seat: Seat, job: Job, discard: boolean, report: () => void): void {
    if (seat.job !== job) return;
    seat.job = null;
    if (discard) {
      seat.port?.end();
      seat.port = null;
    }
    report();
    giveOut();
  }

  return {
    width,
    sharesMemory,
    run<Name extends TaskName>(name: Name, input: Tasks[Name]['input'], options: RunOptions = {}) {
      if (options.signal?.aborted) return Promise.reject(new CancelledError());
      return new Promise<Tasks[Name]['output']>((resolve, reject) => {
        const job: Job = { name, input, options, resolve: resolve as (output: never) => void, reject };
        queue.push(job);
        options.signal?.addEventListener('abort', () => {
          const at = queue.indexOf(job);
          if (at < 0) return;
          queue.splice(at, 1);
          reject(new CancelledError());
        });
        giveOut();
      });
    },
    close() {
      for (const seat of seats) {
        seat.port?.end();
        seat.port = null;
        const { job } = seat;
        seat.job = null;
        job?.reject(new CancelledError());
      }
      for (const job of queue.splice(0)) job.reject(new CancelledError());
    },
  };
}
