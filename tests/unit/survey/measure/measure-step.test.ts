import { describe, expect, test } from 'vitest';
import type { RecordPick } from '../../../../src/roof/record.ts';
import { measureStep, type MeasureEvent, type MeasureState } from '../../../../src/survey/measure/measure-step.ts';

const pick = (x: number, y = 0): RecordPick => ({ at: [x, y, 0], landedOn: 'point', of: null, sigmaM: [0.01, 0.01, 0.01] });
const taking = (x: number, y = 0): MeasureEvent => ({ kind: 'pick', pick: pick(x, y) });

const idle: MeasureState = { name: 'idle' };
const run = (events: readonly MeasureEvent[]) => events.reduce((last, event) => measureStep(last.state, event), measureStep(idle, { kind: 'cancel' }));

describe('measureStep', () => {
  test('a distance is finished by its second pick, and the next one may begin at once', () => {
    const outcome = run([{ kind: 'start', tool: 'distance' }, taking(0), taking(1)]);
    expect(outcome.finished).toEqual({ tool: 'distance', picks: [pick(0), pick(1)] });
    expect(outcome.state).toEqual({ name: 'picking', tool: 'distance', picks: [] });
  });

  test('the same place twice takes nothing and says so', () => {
    const outcome = run([{ kind: 'start', tool: 'distance' }, taking(0), taking(0.0005)]);
    expect(outcome.finished).toBeNull();
    expect(outcome.refusal).toMatch(/same place/);
    expect(outcome.state).toMatchObject({ picks: [pick(0)] });
  });

  test('an area is closed by a person, or at its first corner', () => {
    const start: MeasureEvent[] = [{ kind: 'start', tool: 'area' }, taking(0), taking(1), taking(1, 1)];
    expect(run([...start, { kind: 'close' }]).finished!.picks).toHaveLength(3);
    expect(run([...start, taking(0)]).finished!.picks).toHaveLength(3);
    expect(run([...start, taking(0, 1)]).finished).toBeNull();
    // The last one again, by a double click, closes it too.
    expect(run([...start, taking(1, 1)]).finished!.picks).toHaveLength(3);
  });

  test('two corners are no area', () => {
    const outcome = run([{ kind: 'start', tool: 'area' }, taking(0), taking(1), { kind: 'close' }]);
    expect(outcome.finished).toBeNull();
    expect(outcome.refusal).toBe('An area needs three corners.');
  });

  test.each(['distance', 'area', 'height-above-roof', 'pitch', 'angle', 'radius', 'bearing'] as const)('%s: cancel ends it in every state and leaves nothing', (tool) => {
    for (let taken = 0; taken < 2; taken++) {
      const picks = Array.from({ length: taken }, (_, i) => taking(i));
      expect(run([{ kind: 'start', tool }, ...picks, { kind: 'cancel' }])).toEqual({ state: idle, finished: null, refusal: null });
    }
  });

  test('back takes the last pick, then ends', () => {
    expect(run([{ kind: 'start', tool: 'pitch' }, taking(0), taking(1), { kind: 'back' }]).state).toMatchObject({ picks: [pick(0)] });
    expect(run([{ kind: 'start', tool: 'pitch' }, { kind: 'back' }]).state).toEqual(idle);
  });

  test('another tool begins anew', () => {
    expect(run([{ kind: 'start', tool: 'pitch' }, taking(0), { kind: 'start', tool: 'area' }]).state).toEqual({ name: 'picking', tool: 'area', picks: [] });
  });

  test('while idle a pick means nothing', () => {
    expect(measureStep(idle, taking(1))).toEqual({ state: idle, finished: null, refusal: null });
  });
});
