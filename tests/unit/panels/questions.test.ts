import { describe, expect, test } from 'vitest';
import type { Decision, RoofRecord } from '../../../src/roof/record.ts';
import { answersOf } from '../../../src/panels/questions.ts';
import { sumOf } from '../../../src/reading/roof-area.ts';
import { METRIC } from '../../../src/units/written-reading.ts';
import { missing } from '../../../src/units/measured.ts';
import { doubtfulRecord, gableRecord } from '../../fixtures/gable-record.ts';

const states = (record: RoofRecord | null): string[] => answersOf(record, METRIC).map(({ state }) => state);
const line = (record: RoofRecord, number: number): string => answersOf(record, METRIC)[number - 1]!.line.map((piece) => (typeof piece === 'string' ? piece : `${piece.firm}${piece.soft}${piece.unit} ± ${piece.plusMinus}`)).join('');
const decide = (what: Decision['what'], about: string): Decision => ({ at: '2026-05-01T09:12:00.000Z', by: 'A.K.', what, about });

describe('answersOf', () => {
  test('without a record every question is open and blank', () => {
    expect(states(null)).toEqual(Array.from({ length: 7 }, () => 'open'));
    expect(answersOf(null, METRIC).every(({ line: words }) => words.length === 0)).toBe(true);
  });

  test('a fresh record: sound, an edge of unknown kind, a thing resolved, the rest open', () => {
    expect(states(gableRecord())).toEqual(['answered', 'doubtful', 'answered', 'open', 'open', 'open', 'open']);
    // Two independent areas of 70.71 m² ± 0.30: root two times 0.30.
    expect(line(gableRecord(), 2)).toBe('2 planes, 141.42 m² ± 0.35; 1 edge of unknown kind');
    expect(line(gableRecord(), 3)).toBe('1 thing; 1.000 m² ± 0.050');
  });

  test('a height nobody can defend makes question 3 doubtful, until a person accepts the thing', () => {
    expect(states(doubtfulRecord())[2]).toBe('doubtful');
    expect(states({ ...doubtfulRecord(), decisions: [decide('accept', 'b1.o1')] })[2]).toBe('answered');
  });

  test('a reading whose mark is gone makes question 2 doubtful', () => {
    const stale = { id: 'm1', kind: 'distance', picks: [], valueM: { value: 1, u95: 0.1 }, method: 'test', note: 'stale: the corner of pick 1 is no more' } as const;
    expect(line({ ...gableRecord(), readings: [stale] }, 2)).toMatch(/; 1 edge of unknown kind; 1 reading stale$/);
  });

  test('without a roof plane nothing is said of a noise about one', () => {
    const bare = { ...gableRecord(), buildings: [] };
    expect(line(bare, 1)).toMatch(/^spacing .*, noise not known/);
    expect(line(bare, 2)).toBe('no roof plane was found');
  });

  test('a refused plane no longer counts', () => {
    expect(line({ ...gableRecord(), decisions: [decide('refuse', 'b1.p1')] }, 2)).toMatch(/^1 plane, 70\.71 m²/);
  });

  test('a signature closes an answer until something is decided', () => {
    const signed = { ...gableRecord(), decisions: [decide('sign', 'q1')] };
    expect(answersOf(signed, METRIC)[0]).toMatchObject({ state: 'signed', stateWords: 'signed A.K. 09:12' });
    const changed = { ...signed, decisions: [...signed.decisions, decide('refuse', 'b1.p1')] };
    expect(answersOf(changed, METRIC)[0]).toMatchObject({ state: 'answered', stateWords: 'changed since A.K. signed' });
  });

  test('an open question cannot be signed', () => {
    expect(states({ ...gableRecord(), decisions: [decide('sign', 'q5')] })[4]).toBe('open');
  });

  test('a projection nobody stated, or a note of contradiction, makes the model doubtful', () => {
    const [source] = gableRecord().sources;
    expect(states({ ...gableRecord(), sources: [{ ...source!, crs: null }] })[0]).toBe('doubtful');
    expect(states({ ...gableRecord(), sources: [{ ...source!, notes: ['WKT and GeoTIFF keys disagree about the unit'] }] })[0]).toBe('doubtful');
  });
});

describe('sumOf', () => {
  test('independent parts add as squares, those of the whole model straight', () => {
    const part = (name: string) => ({ value: 10, u95: 0.3, parts: [{ name, u95: 0.3 }] });
    expect(sumOf([part('fit'), part('fit')])).toMatchObject({ value: 20, u95: Math.hypot(0.3, 0.3) });
    expect(sumOf([part('scale'), part('scale')])).toMatchObject({ value: 20, u95: 0.6 });
  });

  test('one unknown makes the sum unknown, none is nothing', () => {
    expect(sumOf([{ value: 1, u95: 0.1 }, missing('no points')])).toEqual(missing('one of 2 is not known: no points'));
    expect(sumOf([]).value).toBeNull();
  });
});
