import type { Building, RoofRecord } from '../roof/record.ts';
import { arrivedError, crossingError, type CrossedError } from './crossed-error.ts';
import { checkSavedSurvey, savedSurveyIn, type SavedSurvey } from './saved-survey.ts';
import { parseRecord, validateRecord } from './validate-record.ts';

/** A survey that was kept here, or the text of a file: a record, or a survey with its steps. */
export type ToRecordReader = { readonly kind: 'kept'; readonly saved: SavedSurvey } | { readonly kind: 'file'; readonly text: string; readonly name: string };

export type FromRecordReader =
  // A record of many buildings in one message would hold up the page: each comes in a message of its own, before the rest.
  | { readonly kind: 'building'; readonly building: Building }
  | { readonly kind: 'done'; readonly base: RoofRecord; readonly saved: SavedSteps | null }
  | { readonly kind: 'failed'; readonly error: CrossedError };

/** A saved survey without its record. */
export type SavedSteps = Omit<SavedSurvey, 'base'>;

/** A record that was checked, with the steps that were saved with it. */
export interface ReadRecord {
  readonly base: RoofRecord;
  readonly saved: SavedSteps | null;
}

/** The worker's end: checks one record after another. Checking one of many buildings takes longer than a page may stand still. */
export function serveRecords(post: (message: FromRecordReader) => void, onMessage: (take: (message: ToRecordReader) => void) => void): void {
  onMessage((message) => {
    try {
      const { base, saved } = read(message);
      for (const building of base.buildings) post({ kind: 'building', building });
      post({ kind: 'done', base: { ...base, buildings: [] }, saved });
    } catch (error) {
      post({ kind: 'failed', error: crossingError(error) });
    }
  });
}

function read(message: ToRecordReader): ReadRecord {
  if (message.kind === 'kept') return checked(message.saved);
  const saved = savedSurveyIn(message.text);
  return saved ? checked(saved) : { base: parseRecord(message.text, message.name), saved: null };
}

function checked(saved: SavedSurvey): ReadRecord {
  checkSavedSurvey(saved);
  const { base, ...steps } = saved;
  // What is kept on this machine holds the record as text.
  return { base: validateRecord(typeof base === 'string' ? JSON.parse(base) : base, 'saved survey'), saved: steps };
}

/**
 * Has a record read and checked in a worker, which is ended after.
 *
 * @throws InputError when it is no valid record.
 */
export function readRecordIn(worker: Worker, question: ToRecordReader): Promise<ReadRecord> {
  return new Promise<ReadRecord>((resolve, reject) => {
    const buildings: Building[] = [];
    worker.onerror = (event) => reject(new Error(event.message));
    worker.onmessage = ({ data }: MessageEvent<FromRecordReader>) => {
      if (data.kind === 'building') buildings.push(data.building);
      else if (data.kind === 'done') resolve({ base: { ...data.base, buildings }, saved: data.saved });
      else reject(arrivedError(data.error));
    };
    worker.postMessage(question);
  }).finally(() => worker.terminate());
}
