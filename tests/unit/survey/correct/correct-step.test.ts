import { describe, expect, test } from 'vitest';
import type { RecordPick } from '../../../../src/roof/record.ts';
import { correctStep, type CorrectEvent, type CorrectState, type CorrectTool } from '../../../../src/survey/correct/correct-step.ts';

const IDLE: CorrectState = { name: 'idle' };
const pick = (x: number, y: number, landedOn: RecordPick['landedOn'] = 'point', of: string | null = null): RecordPick => ({ at: [x, y, 0], landedOn, of, sigmaM: [0.01, 0.01, 0.01] });
const taking = (...given: Parameters<typeof pick>): CorrectEvent => ({ kind: 'pick', pick: pick(...given) });
const start = (tool: CorrectTool, about: string | null = null): CorrectEvent => ({ kind: 'start', tool, about });
const run = (...events: readonly CorrectEvent[]) => events.reduce((last, event) => correctStep(last.state, event), correctStep(IDLE, { kind: 'cancel' }));

describe('correctStep', () => {
  test('a corner is taken first, then its place; anything but a corner is refused', () => {
    expect(run(start('move-corner'), taking(0, 0, 'plane', 'b1.p1')).refusal).toMatch(/no outline corner/);
    const done = run(start('move-corner'), taking(0, 0, 'corner', 'b1.p1'), taking(1, 1));
    expect(done.finished).toEqual({ kind: 'move-corner', from: pick(0, 0, 'corner', 'b1.p1'), to: pick(1, 1) });
    expect(done.state).toEqual(IDLE);
    expect(run(start('move-corner'), taking(0, 0, 'corner', 'b1.p1'), taking(0, 0)).refusal).toMatch(/stands already/);
  });

  test('a corner is added on an edge, and taken away by one pick', () => {
    expect(run(start('add-corner'), taking(0, 0, 'corner', 'b1.p1')).refusal).toMatch(/no edge/);
    expect(run(start('add-corner'), taking(0, 0, 'edge', 'b1.e1'), taking(1, 0)).finished).toMatchObject({ kind: 'add-corner', on: { of: 'b1.e1' }, to: { at: [1, 0, 0] } });
    expect(run(start('remove-corner'), taking(0, 0, 'corner', 'b1.p1')).finished).toMatchObject({ kind: 'remove-corner', at: { of: 'b1.p1' } });
  });

  test('two planes are merged: the chosen one counts as the first, the same one twice does not count', () => {
    expect(run(start('merge'), taking(0, 0, 'plane', 'b1.p1'), taking(1, 0, 'plane', 'b1.p2')).finished).toEqual({ kind: 'merge', planes: ['b1.p1', 'b1.p2'] });
    expect(run(start('merge', 'b1.p3'), taking(0, 0, 'plane', 'b1.p1')).finished).toEqual({ kind: 'merge', planes: ['b1.p3', 'b1.p1'] });
    expect(run(start('merge', 'b1.p1'), taking(0, 0, 'plane', 'b1.p1')).refusal).toMatch(/same plane/);
    expect(run(start('merge'), taking(0, 0, 'edge', 'b1.e1')).refusal).toMatch(/no roof plane/);
    // Chosen from a list both may be named by a corner they share.
    expect(run(start('merge'), taking(0, 0, 'plane', 'b1.p1'), taking(0, 0, 'plane', 'b1.p2')).finished).toEqual({ kind: 'merge', planes: ['b1.p1', 'b1.p2'] });
  });

  test('a split takes both ends of its line, and keeps the plane that was chosen', () => {
    expect(run(start('split', 'b1.p1'), taking(0, 0), taking(0, 5)).finished).toMatchObject({ kind: 'split', plane: 'b1.p1', along: [[0, 0], [0, 5]] });
    expect(run(start('split'), taking(0, 0), taking(0, 5)).finished).toMatchObject({ kind: 'split', plane: null });
  });

  test('a lasso is closed by a person or at its first corner; two corners are none', () => {
    const three = [start('lasso'), taking(0, 0), taking(1, 0), taking(1, 1)] as const;
    expect(run(...three, { kind: 'close' }).finished).toMatchObject({ kind: 'lasso', picks: [{}, {}, {}] });
    expect(run(...three, taking(0, 0)).finished).toMatchObject({ kind: 'lasso', picks: [{}, {}, {}] });
    const two = run(start('lasso'), taking(0, 0), taking(1, 0), { kind: 'close' });
    expect([two.finished, two.refusal]).toEqual([null, 'An outline needs three corners.']);
  });

  test('the last place again ends what has enough of them, and nothing else', () => {
    const two = [taking(0, 0), taking(1, 0)] as const;
    expect(run(start('lasso'), ...two, taking(1, 0)).refusal).toMatch(/same place/);
    expect(run(start('lasso'), ...two, taking(1, 1), taking(1, 1)).finished).toMatchObject({ kind: 'lasso', picks: [{}, {}, { at: [1, 1, 0] }] });
    expect(run(start('parapet'), ...two, taking(1, 0)).finished).toMatchObject({ kind: 'parapet', picks: [{}, { at: [1, 0, 0] }] });
    expect(run(start('split'), taking(0, 0), taking(0, 0)).refusal).toMatch(/same place/);
  });

  test('a parapet closed at its first place ends there, so that its last side counts', () => {
    const round = run(start('parapet'), taking(0, 0), taking(4, 0), taking(4, 4), taking(0, 0));
    expect(round.finished).toEqual({ kind: 'parapet', picks: [pick(0, 0), pick(4, 0), pick(4, 4), pick(0, 0)] });
  });

  test('a parapet is a line of two places at least; a foot is drawn again only for a thing that is chosen', () => {
    expect(run(start('parapet'), taking(0, 0), { kind: 'close' }).refusal).toBe('A line needs two places.');
    expect(run(start('parapet'), taking(0, 0), taking(3, 0), { kind: 'close' }).finished).toMatchObject({ kind: 'parapet', picks: [{}, {}] });
    expect(run(start('reshape')).refusal).toMatch(/Choose the thing/);
    expect(run(start('reshape', 'b1.o1'), taking(0, 0), taking(1, 0), taking(1, 1), { kind: 'close' }).finished).toMatchObject({ kind: 'reshape', thing: 'b1.o1' });
  });

  test.each(['move-corner', 'add-corner', 'merge', 'split', 'lasso', 'reshape', 'parapet'] as const)('%s: back takes the last pick, then ends; cancel ends it at once', (tool) => {
    const first = taking(0, 0, tool === 'move-corner' ? 'corner' : tool === 'add-corner' ? 'edge' : 'plane', 'b1.x');
    const begun = run(start(tool, tool === 'reshape' ? 'b1.o1' : null), first);
    expect(begun.state).toMatchObject({ name: 'correcting', tool, picks: [{}] });
    expect(correctStep(begun.state, { kind: 'back' }).state).toMatchObject({ picks: [] });
    expect(correctStep(correctStep(begun.state, { kind: 'back' }).state, { kind: 'back' }).state).toEqual(IDLE);
    expect(correctStep(begun.state, { kind: 'cancel' })).toEqual({ state: IDLE, finished: null, refusal: null });
  });

  test('while idle nothing means anything', () => {
    for (const event of [taking(0, 0), { kind: 'close' }, { kind: 'back' }] as const) expect(correctStep(IDLE, event)).toEqual({ state: IDLE, finished: null, refusal: null });
  });
});
