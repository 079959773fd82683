import type { Pointing } from './board-pointing.ts';
import type { BoardState } from './board-state.ts';
import { panBy, zoomAt, type Projection } from './projection.ts';

/** How far Ctrl and an arrow move the pointer. [px] */
const LEAP_PIXELS = 24;
/** How far an arrow moves the paper. [px] */
const PAN_PIXELS = 48;
/** How far an arrow turns the free view, as a drag would. [px] */
const TURN_PIXELS = 16;

const ARROWS: Readonly<Record<string, readonly [number, number]>> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** What keys work on. */
export interface KeyedBoard {
  readonly state: BoardState;
  readonly view: Projection;
  readonly pointing: Pick<Pointing, 'leap' | 'nudge' | 'stepToPlace' | 'tapAtCursor'>;
  move(view: Projection): void;
  drag(dx: number, dy: number): void;
  turnElevation(byDeg: number): void;
  fit(): void;
}

export type BoardKey = Pick<KeyboardEvent, 'key' | 'ctrlKey' | 'metaKey' | 'shiftKey'>;

/** Does what a key means on the drawing. @returns False when it means nothing there. */
export function onBoardKey(event: BoardKey, board: KeyedBoard): boolean {
  const { measuring } = board.state;
  return (measuring ? pointByKey(event, measuring.picks.length, board.pointing) : null) ?? moveByKey(event, board);
}

/** @returns null for a key that does not point. */
function pointByKey({ key, ctrlKey, metaKey, shiftKey }: BoardKey, taken: number, pointing: KeyedBoard['pointing']): boolean | null {
  // What begins a typed place belongs to its field, also the keys that zoom else.
  if (taken > 0 && /^[\d=-]$/.test(key)) return false;
  const arrow = ARROWS[key];
  if (arrow && (ctrlKey || metaKey)) pointing.leap(arrow, LEAP_PIXELS);
  else if (arrow) pointing.nudge(arrow, shiftKey ? 0.01 : 0.001);
  else if (key === '.' || key === ',') pointing.stepToPlace(key === '.' ? 1 : -1);
  else return key === 'Enter' ? pointing.tapAtCursor(shiftKey) : null;
  return true;
}

function moveByKey({ key, shiftKey }: BoardKey, board: KeyedBoard): boolean {
  const { view, state: { name } } = board;
  const arrow = ARROWS[key];
  const zoom = (factor: number): void => board.move(zoomAt(view, factor, view.width / 2, view.height / 2));
  if (arrow && name === 'free') board.drag(arrow[0] * TURN_PIXELS, arrow[1] * TURN_PIXELS);
  else if (arrow && name === 'elevation' && arrow[0] !== 0 && shiftKey) board.turnElevation(arrow[0] * 90);
  else if (arrow) board.move(panBy(view, -arrow[0] * PAN_PIXELS, -arrow[1] * PAN_PIXELS));
  else if (key === '+' || key === '=') zoom(1.25);
  else if (key === '-') zoom(0.8);
  else if (key === '0') board.fit();
  else return false;
  return true;
}
