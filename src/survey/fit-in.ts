import type { RoofRecord } from '../roof/record.ts';
import { arrivedError, type CrossedError } from './crossed-error.ts';
import { CancelledError } from './task-runner.ts';

/** What the page asks for: option values by the name the command line gives them. */
export interface FitOrder {
  readonly record: RoofRecord;
  readonly flags: Readonly<Record<string, string>>;
}

export type FitAnswer =
  | { readonly kind: 'progress'; readonly fraction: number }
  | { readonly kind: 'done'; readonly fitted: Pick<RoofRecord, 'keepClear' | 'usable' | 'layout'> }
  | { readonly kind: 'failed'; readonly error: CrossedError };

export interface FitHooks {
  readonly signal: AbortSignal;
  readonly onProgress: (fraction: number) => void;
}

/** The page's side: the worker is ended with its answer, or when the work is stopped. */
export function fitIn(worker: Worker, order: FitOrder, { signal, onProgress }: FitHooks): Promise<Extract<FitAnswer, { kind: 'done' }>['fitted']> {
  return new Promise((resolve, reject) => {
    const end = (report: () => void): void => {
      worker.terminate();
      report();
    };
    signal.addEventListener('abort', () => end(() => reject(new CancelledError())));
    worker.onerror = (event) => end(() => reject(new Error(event.message)));
    worker.onmessage = ({ data }: MessageEvent<FitAnswer>) => {
      if (data.kind === 'progress') onProgress(data.fraction);
      else if (data.kind === 'done') end(() => resolve(data.fitted));
      else end(() => reject(arrivedError(data.error)));
    };
    worker.postMessage(order);
  });
}
