import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { RecordReading, RoofRecord } from '../../../src/roof/record.ts';
import { applyCommand, type SurveyCommand } from '../../../src/survey/commands.ts';
import { canRedo, canUndo, doStep, redo, startHistory, undo, joinStep } from '../../../src/survey/history.ts';
import { refusedIds } from '../../../src/roof/refused-ids.ts';
import { openSavedSurvey, saveSurvey } from '../../../src/survey/saved-survey.ts';
import { pinnedFeature } from '../../../src/survey/measure/pinned-feature.ts';
import { InputError } from '../../../src/units/input-error.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const reading = (id: string): RecordReading => ({ id, kind: 'distance', picks: [], valueM: { value: 1, u95: 0.1 }, method: 'test' });
const decision = (what: 'refuse' | 'accept' | 'sign', about: string) => ({ at: '2026-05-01T10:00:00.000Z', by: 'A.K.', what, about }) as const;
const step = (command: SurveyCommand, title = 'step') => ({ title, at: '2026-05-01T10:00:00.000Z', command });

const COMMANDS: readonly SurveyCommand[] = [
  { kind: 'add-reading', reading: reading('m1') },
  { kind: 'add-decision', decision: decision('refuse', 'b1.p1') },
  { kind: 'set-edge-kind', edge: 'b1.e4', to: 'eave' },
  { kind: 'move-corner', building: 'b1', from: [10, 0, 3], to: [12, 0, 3], sigmaM: 0.01 },
  { kind: 'bend-edge', building: 'b1', edge: 'b1.e4', at: [5, 10, 3], to: [5, 11, 2], sigmaM: 0.01, newEdge: 'b1.e9' },
  { kind: 'several', commands: [{ kind: 'bend-edge', building: 'b1', edge: 'b1.e1', at: [8, 0, 3], to: [8, -1, 2], sigmaM: 0.01, newEdge: 'b1.e10' }, { kind: 'remove-corner', building: 'b1', at: [8, -1, 2] }] },
  { kind: 'reshape-obstruction', building: 'b1', id: 'b1.o1', picks: ([[2, 1], [4, 1], [4, 3]] as const).map(([x, y]) => ({ at: [x, y, 5], landedOn: 'plane', of: 'b1.p1', sigmaM: [0.01, 0.01, 0.01] })) },
  { kind: 'several', commands: [{ kind: 'add-parapet', building: 'b1', parapet: { id: 'b1.w9', path: [[0, 0, 3], [10, 0, 3]], heightAboveRoofM: { value: 0.4, u95: 0.02 }, thicknessM: { value: null, why: 'too few points on top' } }, edges: ['b1.e1'] }, { kind: 'set-parapet-size', building: 'b1', id: 'b1.w9', thicknessM: { value: 0.3, u95: 0.01 } }] },
  { kind: 'refit-building', edit: { kind: 'lasso', ring: [[0, 0], [1, 0], [1, 1]] }, to: { ...gableRecord().buildings[0]!, id: 'b2', roofPlanes: [], edges: [], obstructions: [], parapets: [], lowPoints: [] } },
  { kind: 'add-feature', feature: pinnedFeature('f1', [1, 2, 3], null, gableRecord()) },
  { kind: 'several', commands: [{ kind: 'add-feature', feature: pinnedFeature('f9', [1, 2, 3], null, gableRecord()) }, { kind: 'set-photo', feature: 'f9', to: { feature: 'f9', name: 'drain.jpg', widthPx: 4, heightPx: 3, picture: 'data:image/jpeg;base64,AAAA' } }] },
  { kind: 'check-tape', readings: [{ id: 'T1', kind: 'distance', ends: [[500_000, 6_000_000, 3], [500_010, 6_000_000, 3]], value: 10.01, sigma: 0.005, by: '', at: '', note: '' }], toleranceM: 0.03 },
  { kind: 'set-client-limit', to: { gsdM: 0.03, why: 'drains' } },
  { kind: 'apply-correction', correction: { kind: 'scale', amount: 0.003, u95: 0.001, about: [5, 5, 3], readings: ['T1'], by: 'A.K.', at: '2026-05-02', why: 'three tapes' } },
  { kind: 'apply-correction', correction: { kind: 'edge', amount: 0.05, u95: 0.01, about: [5, 5, 3], readings: ['T1'], by: 'A.K.', at: '2026-05-02', why: 'gutter lip' } },
  { kind: 'several', commands: [{ kind: 'add-reading', reading: reading('m2') }, { kind: 'remove-reading', id: 'm2' }, { kind: 'set-edge-kind', edge: 'b1.e1', to: 'valley' }] },
];

describe('commands', () => {
  test.each(COMMANDS.map((command) => [command.kind, command] as const))('%s: its inverse brings back exactly what was', (_, command) => {
    const before = gableRecord();
    const { record, inverse } = applyCommand(before, command);
    expect(record).not.toEqual(before);
    expect(applyCommand(record, inverse).record).toEqual(before);
    expect(before).toEqual(gableRecord());
  });

  test('a reading taken away from the middle comes back to its place', () => {
    const three: RoofRecord = { ...gableRecord(), readings: [reading('m1'), reading('m2'), reading('m3')] };
    const { record, inverse } = applyCommand(three, { kind: 'remove-reading', id: 'm2' });
    expect(record.readings.map(({ id }) => id)).toEqual(['m1', 'm3']);
    expect(applyCommand(record, inverse).record).toEqual(three);
  });

  test.each<SurveyCommand>([{ kind: 'remove-reading', id: 'm9' }, { kind: 'set-edge-kind', edge: 'b1.e99', to: 'eave' }, { kind: 'remove-last-decision' }])('what is not there cannot be changed: $kind', (command) => {
    expect(() => applyCommand(gableRecord(), command)).toThrow(RangeError);
  });

  test('refused until accepted again', () => {
    const decisions = [decision('refuse', 'b1.p1'), decision('refuse', 'b1.e1'), decision('accept', 'b1.p1')];
    expect([...refusedIds({ ...gableRecord(), decisions })]).toEqual(['b1.e1']);
  });
});

describe('history', () => {
  test('what follows from a step is taken back and done again with it', () => {
    const start = startHistory(gableRecord());
    const first = doStep(start, { title: 'refuse it', at: 'now', command: { kind: 'add-decision', decision: decision('refuse', 'b1.e1') } });
    const joined = joinStep(first, 'follow', 'now', { kind: 'set-part', part: 'keepClear', to: { ruleSet: { name: 'a', source: 'b' }, zones: [] } });
    expect(joined.steps.map(({ title }) => title)).toEqual(['refuse it']);
    expect(joined.record.keepClear!.ruleSet.name).toBe('a');
    expect(undo(joined).record).toEqual(start.record);
    expect(redo(undo(joined)).record).toEqual(joined.record);
    // Nothing done: a step of its own.
    expect(joinStep(start, 'follow', 'now', { kind: 'set-part', part: 'tape', to: null }).steps.map(({ title }) => title)).toEqual(['follow']);
  });

  test('undo and redo walk the same records; a new step drops what was taken back', () => {
    let history = startHistory(gableRecord());
    const records = [history.record];
    for (const command of COMMANDS) {
      history = doStep(history, step(command));
      records.push(history.record);
    }
    for (let i = COMMANDS.length - 1; i >= 0; i--) {
      history = undo(history);
      expect(history.record).toEqual(records[i]);
    }
    expect(canUndo(history)).toBe(false);
    expect(undo(history)).toBe(history);
    history = redo(redo(history));
    expect(history.record).toEqual(records[2]);
    history = doStep(history, step({ kind: 'add-reading', reading: reading('m7') }));
    expect(canRedo(history)).toBe(false);
    expect(history.steps).toHaveLength(3);
  });

  test('any walk of steps, undos and redos ends where replaying what is done ends', () => {
    fc.assert(
      fc.property(fc.array(fc.oneof(fc.constant('undo'), fc.constant('redo'), fc.nat(2)), { maxLength: 30 }), (moves) => {
        let history = startHistory(gableRecord());
        moves.forEach((move, i) => {
          const command: SurveyCommand = move === 0 ? { kind: 'add-reading', reading: reading(`m${i}`) } : move === 1 ? { kind: 'set-edge-kind', edge: 'b1.e4', to: i % 2 ? 'eave' : 'rake' } : { kind: 'add-decision', decision: decision('refuse', `b1.e${i}`) };
          history = move === 'undo' ? undo(history) : move === 'redo' ? redo(history) : doStep(history, step(command));
        });
        let replayed = startHistory(gableRecord());
        for (const done of history.steps.slice(0, history.done)) replayed = doStep(replayed, done);
        expect(history.record).toEqual(replayed.record);
      }),
      { seed: 7, numRuns: 60 },
    );
  });
});

describe('a saved survey', () => {
  test('comes back through its text with undo and redo as they were', () => {
    let history = startHistory(gableRecord());
    for (const command of COMMANDS) history = doStep(history, step(command));
    history = undo(undo(history));
    const back = openSavedSurvey(JSON.parse(JSON.stringify(saveSurvey('gable', '2026-05-01T10:00:00.000Z', history))));
    expect(back.record).toEqual(history.record);
    expect(back.done).toBe(history.done);
    expect(redo(back).record).toEqual(redo(history).record);
  });

  test.each([
    ['version', { version: 2 }],
    ['done', { done: 99 }],
    ['steps', { steps: 'none' }],
    ['step 1', { steps: [step({ kind: 'remove-reading', id: 'm9' })], done: 1 }],
  ])('%s that does not fit is refused by name', (field, change) => {
    const saved = { ...saveSurvey('gable', '2026-05-01T10:00:00.000Z', startHistory(gableRecord())), ...change } as never;
    expect(() => openSavedSurvey(saved)).toThrow(InputError);
    expect(() => openSavedSurvey(saved)).toThrow(field);
  });
});
