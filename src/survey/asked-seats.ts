import type { AnswerMessage } from './task-messages.ts';
import type { WorkerPort } from './worker-runner.ts';

/** How a worker asks the page, which alone can start workers, for task workers. */
export type SeatMessage =
  | { readonly kind: 'start'; readonly seat: number; readonly port: MessagePort }
  | { readonly kind: 'end'; readonly seat: number };

export interface AskedSeats {
  /** Asks for a task worker and hands it one end of a channel. */
  start(): WorkerPort;
  /** To be called when the page tells that a seat's worker broke. */
  died(seat: number, why: string): void;
}

/** Task workers of a worker that cannot start any itself. */
export function askedSeats(post: (message: SeatMessage, transfer: Transferable[]) => void): AskedSeats {
  const deaths = new Map<number, (why: string) => void>();
  let nextSeat = 0;
  return {
    start() {
      const seat = nextSeat++;
      const channel = new MessageChannel();
      post({ kind: 'start', seat, port: channel.port2 }, [channel.port2]);
      return {
        post: (message, transfer) => channel.port1.postMessage(message, [...transfer]),
        onMessage: (take) => (channel.port1.onmessage = (event: MessageEvent<AnswerMessage>) => take(event.data)),
        onDeath: (take) => deaths.set(seat, take),
        end() {
          channel.port1.close();
          deaths.delete(seat);
          post({ kind: 'end', seat }, []);
        },
      };
    },
    died: (seat, why) => deaths.get(seat)?.(why),
  };
}
