import type { Building } from '../roof/record.ts';
import type { FromCoordinator, ToCoordinator } from './coordinator-messages.ts';
import { arrivedError } from './crossed-error.ts';
import type { SourceHandle } from './source-handle.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyHooks, SurveyResult } from './survey-result.ts';
import { CancelledError } from './task-runner.ts';

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
      const buildings: Building[] = [];
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
        else if (data.kind === 'building') buildings.push(data.building);
        else if (data.kind === 'done') finish(() => resolve({ ...data.result, record: { ...data.result.record, buildings } }));
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
