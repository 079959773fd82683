import type { Cloud } from '../cloud/cloud.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { arrivedError, crossingError, type AnswerMessage, type CrossedError } from './serve-tasks.ts';
import type { SourceHandle } from './source-handle.ts';
import { surveyFiles } from './survey-files.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyHooks, SurveyResult } from './survey-result.ts';
import { CancelledError } from './task-runner.ts';
import { buffersOf } from './transferables.ts';
import { workerRunner, type WorkerPort } from './worker-runner.ts';

/**
 * A survey keeps a page responsive only when the page's own thread does none of its work. So one worker coordinates and
 * the others do tasks for it. The page alone can start workers: it hands the coordinator one end of a channel for each.
 */
export type ToCoordinator =
  | { readonly kind: 'survey'; readonly files: readonly SourceHandle[]; readonly options: SurveyOptions; readonly width: number }
  | { readonly kind: 'cancel' }
  | { readonly kind: 'died'; readonly seat: number; readonly why: string };

export type FromCoordinator =
  | { readonly kind: 'start'; readonly seat: number; readonly port: MessagePort }
  | { readonly kind: 'end'; readonly seat: number }
  | { readonly kind: 'progress'; readonly stage: string; readonly fraction: number }
  | { readonly kind: 'cloud'; readonly cloud: Cloud; readonly frame: LocalFrame }
  | { readonly kind: 'done'; readonly result: SurveyResult }
  | { readonly kind: 'failed'; readonly error: CrossedError | null };

/** The coordinator's own channel to the page. */
export interface CoordinatorEnd {
  post(message: FromCoordinator, transfer: Transferable[]): void;
  onMessage(take: (message: ToCoordinator) => void): void;
}

/** Runs in the coordinating worker: one survey at a time. */
export function serveSurveys(end: CoordinatorEnd): void {
  let cancel = new AbortController();
  const deaths = new Map<number, (why: string) => void>();
  let nextSeat = 0;

  function startSeat(): WorkerPort {
    const seat = nextSeat++;
    const channel = new MessageChannel();
    end.post({ kind: 'start', seat, port: channel.port2 }, [channel.port2]);
    return {
      post: (message, transfer) => channel.port1.postMessage(message, [...transfer]),
      onMessage: (take) => (channel.port1.onmessage = (event: MessageEvent<AnswerMessage>) => take(event.data)),
      onDeath: (take) => deaths.set(seat, take),
      end() {
        channel.port1.close();
        deaths.delete(seat);
        end.post({ kind: 'end', seat }, []);
      },
    };
  }

  async function survey({ files, options, width }: Extract<ToCoordinator, { kind: 'survey' }>): Promise<void> {
    cancel = new AbortController();
    const runner = workerRunner(startSeat, width);
    try {
      const result = await surveyFiles(files, options, runner, {
        signal: cancel.signal,
        onProgress: (stage, fraction) => end.post({ kind: 'progress', stage, fraction }, []),
        onCloud: (cloud, frame) => end.post({ kind: 'cloud', cloud, frame }, []),
      });
      end.post({ kind: 'done', result }, buffersOf(result));
    } catch (error) {
      end.post({ kind: 'failed', error: error instanceof CancelledError ? null : crossingError(error) }, []);
    } finally {
      runner.close();
    }
  }

  end.onMessage((message) => {
    if (message.kind === 'survey') void survey(message);
    else if (message.kind === 'cancel') cancel.abort();
    else deaths.get(message.seat)?.(message.why);
  });
}

/** What the page must be able to do: start workers. Only `main.ts` can. */
export interface PageWorkers {
  /** Starts the coordinating worker. */
  startCoordinator(): Worker;
  /** Starts a worker that serves tasks on the port of its first message. */
  startTaskWorker(): Worker;
  /** How many task workers at most. */
  readonly width: number;
}

/** A `surveyFiles` for the page: same arguments, all work in other threads. One survey at a time. */
export function pageSurveyor(workers: PageWorkers): (files: readonly SourceHandle[], options: SurveyOptions, hooks: SurveyHooks) => Promise<SurveyResult> {
  return (files, options, hooks) =>
    new Promise((resolve, reject) => {
      const coordinator = workers.startCoordinator();
      const seats = new Map<number, Worker>();
      const tell = (message: ToCoordinator): void => coordinator.postMessage(message);
      const finish = (report: () => void): void => {
        for (const worker of seats.values()) worker.terminate();
        coordinator.terminate();
        report();
      };
      hooks.signal?.addEventListener('abort', () => finish(() => reject(new CancelledError())));
      coordinator.onerror = (event) => finish(() => reject(new Error(event.message)));
      coordinator.onmessage = ({ data }: MessageEvent<FromCoordinator>) => {
        if (data.kind === 'start') seats.set(data.seat, seatWorker(workers, data.port, (why) => tell({ kind: 'died', seat: data.seat, why })));
        else if (data.kind === 'end') seats.get(data.seat)?.terminate();
        else if (data.kind === 'progress') hooks.onProgress?.(data.stage, data.fraction);
        else if (data.kind === 'cloud') hooks.onCloud?.(data.cloud, data.frame);
        else if (data.kind === 'done') finish(() => resolve(data.result));
        else finish(() => reject(data.error ? arrivedError(data.error) : new CancelledError()));
      };
      tell({ kind: 'survey', files, options, width: workers.width });
    });
}

function seatWorker(workers: PageWorkers, port: MessagePort, onDeath: (why: string) => void): Worker {
  const worker = workers.startTaskWorker();
  worker.onerror = (event) => onDeath(event.message);
  worker.postMessage({ port }, [port]);
  return worker;
}
