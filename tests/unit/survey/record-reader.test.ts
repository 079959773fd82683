import { describe, expect, test } from 'vitest';
import { doStep, startHistory } from '../../../src/survey/history.ts';
import { readRecordIn, serveRecords, type FromRecordReader, type ToRecordReader } from '../../../src/survey/record-reader.ts';
import { doSavedSteps, saveSurvey } from '../../../src/survey/saved-survey.ts';
import { recordText } from '../../../src/survey/write-record.ts';
import { InputError } from '../../../src/units/input-error.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

/** A worker in this thread: everything crosses as a copy. */
function workerHere() {
  let take: (message: ToRecordReader) => void = () => undefined;
  const worker = {
    ended: false,
    onmessage: null as ((event: { data: FromRecordReader }) => void) | null,
    postMessage: (message: ToRecordReader) => queueMicrotask(() => take(structuredClone(message))),
    terminate: () => (worker.ended = true),
  };
  serveRecords((message) => worker.onmessage!({ data: structuredClone(message) }), (listener) => (take = listener));
  return worker;
}

const read = (question: ToRecordReader, worker = workerHere()) => readRecordIn(worker as unknown as Worker, question);

const withStep = () => doStep(startHistory(gableRecord()), {
  title: 'refuse O1', at: '2026-05-01T09:00:00.000Z',
  command: { kind: 'add-decision', decision: { at: '2026-05-01T09:00:00.000Z', by: 'A.K.', what: 'refuse', about: 'b1.o1' } },
});

describe('a record read in a worker', () => {
  test('the text of a record gives the record, and the worker is ended', async () => {
    const worker = workerHere();
    const { base, saved } = await read({ kind: 'file', text: recordText(gableRecord()), name: 'gable.json' }, worker);
    expect(recordText(base)).toBe(recordText(gableRecord()));
    expect(saved).toBeNull();
    expect(worker.ended).toBe(true);
  });

  test('a survey with steps comes back as it was, from a file or from what is kept here', async () => {
    const history = withStep();
    const survey = saveSurvey('gable', '2026-05-01T10:00:00.000Z', history);
    const asText = { ...survey, base: JSON.stringify(survey.base) };
    for (const question of [{ kind: 'kept', saved: survey }, { kind: 'kept', saved: asText }, { kind: 'file', text: JSON.stringify(survey), name: 'gable.survey.json' }] as const) {
      const { base, saved } = await read(question);
      expect(saved!.name).toBe('gable');
      expect(doSavedSteps(startHistory(base), saved!).record).toEqual(history.record);
    }
  });

  test.each([
    ['no JSON', { kind: 'file', text: 'roof', name: 'a.json' }, /is not JSON/],
    ['another schema', { kind: 'file', text: '{"schema":"other/1"}', name: 'a.json' }, /schema is "other\/1"/],
    ['a field of the wrong type', { kind: 'file', text: recordText(gableRecord()).replace('"pointCount": 5000', '"pointCount": "many"'), name: 'a.json' }, /pointCount/],
    ['a version nobody knows', { kind: 'kept', saved: { ...saveSurvey('gable', '', withStep()), version: 7 as 1 } }, /newer version of this program \(form 7/],
  ] as const)('%s is refused with its line', async (_, question, line) => {
    const refusal = await read(question).catch((error: unknown) => error);
    expect(refusal).toBeInstanceOf(InputError);
    expect((refusal as Error).message).toMatch(line);
  });
});
