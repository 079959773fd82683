import { thinCloud } from '../cloud/thin-cloud.ts';
import type { FromCoordinator, ToCoordinator } from './coordinator-messages.ts';
import { crossingError } from './crossed-error.ts';
import { surveyFiles } from './survey-files.ts';
import type { AnswerMessage } from './task-messages.ts';
import { CancelledError } from './task-runner.ts';
import { buffersOf } from './transferables.ts';
import { workerRunner, type WorkerPort } from './worker-runner.ts';

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
    else deaths.get(message.seat)?.(message.why);
  });
}
