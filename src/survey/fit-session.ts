import type { Cloud } from '../cloud/cloud.ts';
import type { RoofRecord } from '../roof/record.ts';
import { arrivedError } from './crossed-error.ts';
import type { FitQuestion, FitQuestions, FitWishes, FromFitting, ToFitting } from './fit-messages.ts';
import { CancelledError } from './task-runner.ts';

/** What the page must be able to do: start workers. Only `main.ts` can. */
export interface FitWorkers {
  startFitting(): Worker;
  /** Starts a worker that serves tasks on the port of its first message. */
  startTaskWorker(): Worker;
  /** How many task workers at most. */
  readonly width: number;
}

/** What a question is about. */
export interface FitSubject {
  readonly record: RoofRecord;
  readonly wishes: FitWishes;
  /** The measured points, for shade; null when they are not at hand. */
  readonly cloud: Cloud | null;
}

export interface FitHooks {
  readonly signal?: AbortSignal;
  readonly onProgress?: (fraction: number) => void;
}

interface Waiting {
  readonly resolve: (answer: never) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress: ((fraction: number) => void) | undefined;
}

const NOTHING_SENT = { cloud: undefined, record: null, wishes: null } as const;

/** The page's side of the fitting worker: sends what changed since the last question, then the question. */
export class FitSession {
  private worker: Worker | null = null;
  private seats = new Map<number, Worker>();
  private waiting = new Map<number, Waiting>();
  private nextId = 1;
  /** What the worker holds. */
  private sent: { cloud: Cloud | null | undefined; record: RoofRecord | null; wishes: FitWishes | null } = { ...NOTHING_SENT };
  /** Questions go out one after the other, each with what it is about. */
  private turn: Promise<void> = Promise.resolve();

  constructor(private readonly workers: FitWorkers) {}

  async ask<Name extends FitQuestion>(kind: Name, subject: FitSubject, asked: FitQuestions[Name]['asked'], { signal, onProgress }: FitHooks = {}): Promise<FitQuestions[Name]['answer']> {
    const before = this.turn;
    let release = (): void => undefined;
    this.turn = new Promise((resolve) => (release = resolve));
    await before;
    try {
      if (signal?.aborted) throw new CancelledError();
      const worker = (this.worker ??= this.start());
      await this.sendSubject(worker, subject);
      if (signal?.aborted) throw new CancelledError();
      const id = this.nextId++;
      return await new Promise<FitQuestions[Name]['answer']>((resolve, reject) => {
        this.waiting.set(id, { resolve: resolve as (answer: never) => void, reject, onProgress });
        signal?.addEventListener('abort', () => {
          if (this.waiting.has(id)) this.stop(new CancelledError());
        });
        worker.postMessage({ kind, id, asked } as ToFitting);
      });
    } finally {
      release();
    }
  }

  private async sendSubject(worker: Worker, { record, wishes, cloud }: FitSubject): Promise<void> {
    const { sent } = this;
    if (sent.cloud !== cloud) {
      if (cloud) worker.postMessage({ kind: 'cloud', bounds: cloud.bounds, pointSpacingM: record.sampling.pointSpacingM } satisfies ToFitting);
      else worker.postMessage({ kind: 'no-cloud' } satisfies ToFitting);
      for (const { origin, positions } of cloud?.cells ?? []) {
        worker.postMessage({ kind: 'cell', origin, positions } satisfies ToFitting);
        await new Promise((resolve) => setTimeout(resolve));
      }
      sent.cloud = cloud;
      sent.record = null;
    }
    // Readings, signatures and layouts come and go; what fits depends on the roof alone.
    const isSame = sent.record && sent.record.buildings === record.buildings && sent.record.smallFeatures === record.smallFeatures && sent.wishes === wishes;
    const decisions = record.decisions.filter(({ what }) => what === 'refuse' || what === 'accept');
    if (!isSame) worker.postMessage({ kind: 'prepare', record: { ...record, keepClear: null, usable: null, layout: null, readings: [], decisions }, wishes, width: this.workers.width } satisfies ToFitting);
    else if (sent.record!.decisions !== record.decisions) worker.postMessage({ kind: 'decided', decisions } satisfies ToFitting);
    [sent.record, sent.wishes] = [record, wishes];
  }

  private start(): Worker {
    const worker = this.workers.startFitting();
    worker.onerror = (event) => this.stop(new Error(event.message));
    worker.onmessage = ({ data }: MessageEvent<FromFitting>) => {
      if (data.kind === 'start') this.seats.set(data.seat, this.seat(worker, data.seat, data.port));
      else if (data.kind === 'end') this.seats.get(data.seat)?.terminate();
      else this.settle(data);
    };
    return worker;
  }

  private seat(fitting: Worker, seat: number, port: MessagePort): Worker {
    const worker = this.workers.startTaskWorker();
    worker.onerror = (event) => fitting.postMessage({ kind: 'died', seat, why: event.message } satisfies ToFitting);
    worker.postMessage({ port }, [port]);
    return worker;
  }

  private settle(message: Extract<FromFitting, { id: number }>): void {
    const waiting = this.waiting.get(message.id);
    if (message.kind === 'progress') return waiting?.onProgress?.(message.fraction);
    this.waiting.delete(message.id);
    if (message.kind === 'done') waiting?.resolve(message.answer as never);
    else waiting?.reject(arrivedError(message.error));
  }

  /** Ends every worker; the next question starts anew. */
  private stop(error: Error): void {
    this.worker?.terminate();
    for (const seat of this.seats.values()) seat.terminate();
    [this.worker, this.seats, this.sent] = [null, new Map(), { ...NOTHING_SENT }];
    const waiting = [...this.waiting.values()];
    this.waiting.clear();
    for (const { reject } of waiting) reject(error);
  }
}
