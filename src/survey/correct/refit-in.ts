import type { LabelledCloudCell } from '../../find/remeasure-building.ts';
import type { Vector3 } from '../../geometry/vector.ts';
import type { Parapet } from '../../roof/record.ts';
import { arrivedError, type CrossedError } from '../crossed-error.ts';
import { CancelledError } from '../task-runner.ts';
import type { Refit, RefitOrder } from './refit-building.ts';

/** To the worker: cells one by one, so that no message stalls the page; then what shall be done with them. */
export type RefitMessage =
  | { readonly kind: 'cell'; readonly cell: LabelledCloudCell }
  | { readonly kind: 'refit'; readonly order: RefitOrder }
  | { readonly kind: 'parapet'; readonly order: RefitOrder; readonly path: readonly Vector3[] };

export type RefitAnswer =
  | { readonly kind: 'refit'; readonly refit: Refit }
  | { readonly kind: 'parapet'; readonly parapet: Omit<Parapet, 'id'> }
  | { readonly kind: 'failed'; readonly error: CrossedError };

/** The page's side: the worker is ended with its answer, or when the work is stopped. */
export async function refitIn<Kind extends 'refit' | 'parapet'>(
  worker: Worker,
  cells: readonly LabelledCloudCell[],
  message: RefitMessage & { kind: Kind },
  signal: AbortSignal,
): Promise<RefitAnswer & { kind: Kind }> {
  for (const cell of cells) {
    const { column, row, origin, positions, pointCount, labels } = cell;
    worker.postMessage({ kind: 'cell', cell: { column, row, origin, positions, pointCount, labels } } satisfies RefitMessage);
    await new Promise((resolve) => setTimeout(resolve));
  }
  return new Promise((resolve, reject) => {
    const end = (report: () => void): void => {
      worker.terminate();
      report();
    };
    if (signal.aborted) return end(() => reject(new CancelledError()));
    signal.addEventListener('abort', () => end(() => reject(new CancelledError())));
    worker.onerror = (event) => end(() => reject(new Error(event.message)));
    worker.onmessage = ({ data }: MessageEvent<RefitAnswer>) =>
      end(() => (data.kind === 'failed' ? reject(arrivedError(data.error)) : resolve(data as RefitAnswer & { kind: Kind })));
    worker.postMessage(message);
  });
}
