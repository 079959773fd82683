import { thinCloud } from '../cloud/thin-cloud.ts';
import { askedSeats } from './asked-seats.ts';
import type { FromCoordinator, ToCoordinator } from './coordinator-messages.ts';
import { crossingError } from './crossed-error.ts';
import { surveyFiles } from './survey-files.ts';
import { CancelledError } from './task-runner.ts';
import { buffersOf } from './transferables.ts';
import { workerRunner } from './worker-runner.ts';

/** The coordinator's own channel to the page. */
export interface CoordinatorEnd {
  post(message: FromCoordinator, transfer: Transferable[]): void;
  onMessage(take: (message: ToCoordinator) => void): void;
}

/** Points shown while the roof is being found. */
const PREVIEW_POINTS = 1_500_000;

/** Runs in the coordinating worker: one survey at a time. */
export function serveSurveys(end: CoordinatorEnd): void {
  let cancel = new AbortController();
  const seats = askedSeats((message, transfer) => end.post(message, transfer));

  async function survey({ files, options, width }: Extract<ToCoordinator, { kind: 'survey' }>): Promise<void> {
    cancel = new AbortController();
    const runner = workerRunner(seats.start, width);
    try {
      const result = await surveyFiles(files, options, runner, {
        signal: cancel.signal,
        onProgress: (stage, fraction) => end.post({ kind: 'progress', stage, fraction }, []),
        onCloud: (cloud, frame) => {
          // Copied here and handed over, so that the page's own thread copies nothing. All points follow with the record.
          const shown = thinCloud(cloud, PREVIEW_POINTS);
          end.post({ kind: 'cloud', cloud: shown, frame }, buffersOf(shown));
        },
      });
      for (const building of result.record.buildings) end.post({ kind: 'building', building }, []);
      end.post({ kind: 'done', result: { ...result, record: { ...result.record, buildings: [] } } }, buffersOf(result));
    } catch (error) {
      end.post({ kind: 'failed', error: error instanceof CancelledError ? null : crossingError(error) }, []);
    } finally {
      runner.close();
    }
  }

  end.onMessage((message) => {
    if (message.kind === 'survey') void survey(message);
    else if (message.kind === 'cancel') cancel.abort();
    else seats.died(message.seat, message.why);
  });
}
