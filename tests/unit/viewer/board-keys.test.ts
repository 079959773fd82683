import { expect, test } from 'vitest';
import type { RecordPick } from '../../../src/roof/record.ts';
import { onBoardKey, type BoardKey, type KeyedBoard } from '../../../src/viewer/board-keys.ts';
import type { BoardState } from '../../../src/viewer/board-state.ts';
import { planAxes, type Projection } from '../../../src/viewer/projection.ts';

const view: Projection = { ...planAxes(0), centre: [0, 0, 0], pixelsPerMetre: 100, width: 800, height: 600 };
const pick: RecordPick = { at: [0, 0, 0], landedOn: 'point', of: null, sigmaM: [0, 0, 0] };
const key = (name: string, held: Partial<BoardKey> = {}): BoardKey => ({ key: name, ctrlKey: false, metaKey: false, shiftKey: false, ...held });

/** What was done on the board for a key, in words. */
function press(event: BoardKey, state: Partial<BoardState>, hasCursor = true): { used: boolean; done: string[] } {
  const done: string[] = [];
  const board: KeyedBoard = {
    state: { name: 'plan', measuring: null, ...state } as BoardState, view,
    pointing: {
      leap: ([x, y], pixels) => void done.push(`leap ${x} ${y} ${pixels}`),
      nudge: ([x, y], metres) => void done.push(`nudge ${x} ${y} ${metres}`),
      stepToPlace: (by) => void done.push(`step ${by}`),
      tapAtCursor: (free) => hasCursor && done.push(`take ${free ? 'bare' : 'snapped'}`) > 0,
    },
    move: (moved) => void done.push(moved.pixelsPerMetre === view.pixelsPerMetre ? 'pan' : `zoom ${moved.pixelsPerMetre}`),
    drag: (dx, dy) => void done.push(`turn ${dx} ${dy}`),
    turnElevation: (deg) => void done.push(`side ${deg}`),
    fit: () => void done.push('fit'),
  };
  return { used: onBoardKey(event, board), done };
}

const measuring = { tool: 'distance', picks: [] } as const;

test.each([
  ['an arrow pans the plan', key('ArrowLeft'), {}, ['pan']],
  ['turns the free view', key('ArrowLeft'), { name: 'free' }, ['turn -16 0']],
  ['with Shift takes the next side of an elevation', key('ArrowRight', { shiftKey: true }), { name: 'elevation' }, ['side 90']],
  ['nudges a millimetre while places are taken', key('ArrowUp'), { measuring }, ['nudge 0 -1 0.001']],
  ['with Shift a centimetre', key('ArrowUp', { shiftKey: true }), { measuring }, ['nudge 0 -1 0.01']],
  ['with Ctrl leaps', key('ArrowDown', { ctrlKey: true }), { measuring }, ['leap 0 1 24']],
  ['a point steps to the next place', key('.'), { measuring }, ['step 1']],
  ['Enter takes it', key('Enter'), { measuring }, ['take snapped']],
  ['with Shift the bare point', key('Enter', { shiftKey: true }), { measuring }, ['take bare']],
  ['plus zooms', key('+'), {}, ['zoom 125']],
  ['nought shows all', key('0'), {}, ['fit']],
  ['also before the first place is taken', key('0'), { measuring }, ['fit']],
] as const)('%s', (_, event, state, done) => expect(press(event, state as Partial<BoardState>)).toEqual({ used: true, done }));

test('what begins a typed place, and what means nothing here, is left to others', () => {
  const taken = { measuring: { tool: 'distance', picks: [pick] } } as const;
  for (const name of ['0', '5', '-', '=']) expect(press(key(name), taken)).toEqual({ used: false, done: [] });
  expect(press(key('.'), {})).toEqual({ used: false, done: [] });
  expect(press(key('Enter'), {})).toEqual({ used: false, done: [] });
  expect(press(key('Enter'), { measuring }, false)).toEqual({ used: false, done: [] });
  expect(press(key('q'), { measuring })).toEqual({ used: false, done: [] });
});
