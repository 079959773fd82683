import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { FrameTurns } from '../../../src/viewer/frame-turns.ts';

let frames: ((now: number) => void)[] = [];
let drawn: string[] = [];

beforeEach(() => {
  [frames, drawn] = [[], []];
  vi.useFakeTimers();
  vi.stubGlobal('requestAnimationFrame', (frame: (now: number) => void) => frames.push(frame));
  vi.stubGlobal('cancelAnimationFrame', () => (frames = []));
  vi.stubGlobal('window', globalThis);
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

/** Runs the frames that are asked for now. @returns How many there were. */
function nextFrame(): number {
  const due = frames;
  frames = [];
  due.forEach((frame) => frame(0));
  return due.length;
}

function turns(large = false): FrameTurns {
  return new FrameTurns({
    overlay: () => void drawn.push('overlay'),
    isInTurns: () => large,
    ink: () => (drawn.push('ink'), () => void drawn.push('paint')),
  });
}

test('many changes are one frame, and no change is none', () => {
  const asked = turns();
  for (let i = 0; i < 5; i++) asked.ask();
  expect(nextFrame()).toBe(1);
  expect(drawn).toEqual(['ink', 'paint']);
  expect(nextFrame()).toBe(0);
});

test('where only the pointer moved, only what follows it is drawn; anything else draws all', () => {
  const asked = turns();
  asked.ask(true);
  nextFrame();
  asked.ask(true);
  asked.ask(false);
  asked.ask(true);
  nextFrame();
  expect(drawn).toEqual(['overlay', 'ink', 'paint']);
});

test('a large picture takes a turn for its ink, and what changes meanwhile is drawn after', () => {
  const asked = turns(true);
  asked.ask();
  nextFrame();
  expect(drawn).toEqual([]);
  vi.runOnlyPendingTimers();
  expect(drawn).toEqual(['ink']);
  asked.ask(true);
  nextFrame();
  expect(drawn).toEqual(['ink', 'paint']);
  expect(nextFrame()).toBe(1);
  expect(drawn).toEqual(['ink', 'paint', 'overlay']);
});

test('once stopped nothing more is drawn', () => {
  const asked = turns();
  asked.ask();
  asked.stop();
  nextFrame();
  expect(drawn).toEqual([]);
});
