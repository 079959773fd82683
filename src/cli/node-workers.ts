import { availableParallelism } from 'node:os';
import { setFlagsFromString } from 'node:v8';
import { parentPort, Worker } from 'node:worker_threads';
import type { WorkerEnd } from '../survey/serve-tasks.ts';
import type { AnswerMessage, TaskMessage } from '../survey/task-messages.ts';
import type { WorkerPort } from '../survey/worker-runner.ts';

/**
 * How to start threads for a survey. Every thread compiles its hot code for itself, once for each loop of a function that runs
 * long: on a million points that took more processor than the measuring did. With less code copied into callers and out of
 * loops, and compiled in the thread that waits for it where no core is left to do it beside, a survey takes three tenths less
 * processor on a million points and an eighth less on twenty.
 *
 * @param width  How many there will be.
 */
export function surveyThreads(width: number): () => WorkerPort {
  setFlagsFromString('--max-inlined-bytecode-size-cumulative=200');
  setFlagsFromString('--no-turbo-loop-peeling');
  if (width >= availableParallelism()) setFlagsFromString('--no-concurrent-recompilation');
  return startWorkerThread;
}

/** Starts one worker thread of the built engine. */
export function startWorkerThread(): WorkerPort {
  // A library that decodes rasters looks into the data of the thread it finds itself in, and fails where there are none.
  const worker = new Worker(new URL('./survey-worker.js', import.meta.url), { workerData: {} });
  return {
    post: (message, transfer) => worker.postMessage(message, [...transfer]),
    onMessage(take) {
      worker.removeAllListeners('message');
      worker.on('message', (answer: AnswerMessage) => take(answer));
    },
    onDeath(take) {
      worker.removeAllListeners('error').removeAllListeners('exit');
      worker.on('error', (error) => take(error.message));
      worker.on('exit', (status) => take(`exit status ${status}`));
    },
    end: () => void worker.terminate(),
  };
}

/** The same channel seen from inside the thread. */
export function threadEnd(): WorkerEnd {
  const port = parentPort;
  if (!port) throw new Error('This file runs as a worker thread only.');
  return {
    post: (message, transfer) => port.postMessage(message, transfer),
    onMessage: (take) => port.on('message', (message: TaskMessage) => take(message)),
  };
}
