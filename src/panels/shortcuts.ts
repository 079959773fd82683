import type { App } from './app-context.ts';
import type { QuestionNumber } from './questions.ts';

/** Keys and what they do, as the sheet of keys shows them. */
export const KEYS: readonly (readonly [string, string])[] = [
  ['1 to 7', 'open a question'],
  ['P  S  E  F', 'plan, section, elevation, free view'],
  ['M', 'measure a distance; again for an area'],
  ['L', 'draw a section line'],
  ['C', 'move an outline corner'],
  ['N  B', 'next building, building before'],
  ['O', 'choose files'],
  ['Ctrl Z, Ctrl Y', 'undo, redo'],
  ['Ctrl S', 'save the record as a file'],
  ['Arrows, + − 0', 'on the drawing: move, zoom, show all'],
  ['Arrows, Enter', 'while measuring: move the cross (Shift: 1 px), take it'],
  ['[  ]', 'turn the elevation'],
  ['Esc', 'let go of what is under way'],
  ['?', 'this sheet'],
];

/** Keys that work wherever the focus is, but in a field. */
export function onPageKey(event: KeyboardEvent, { store, actions, board }: App, showKeys: () => void): void {
  const target = event.target as HTMLElement;
  if (target.closest('input, select, textarea, dialog[open]')) return;
  const key = event.key.toLowerCase();
  if (event.ctrlKey || event.metaKey) {
    const deeds: Record<string, () => void> = {
      z: () => (event.shiftKey ? actions.redo() : actions.undo()),
      y: () => actions.redo(),
      s: () => actions.saveRecordFile(),
    };
    if (!deeds[key]) return;
    event.preventDefault();
    return deeds[key]();
  }
  if (event.altKey) return;
  if (/^[1-7]$/.test(key)) return actions.openQuestion(Number(key) as QuestionNumber);
  const deeds: Record<string, () => void> = {
    p: () => actions.showView('plan'),
    s: () => actions.showView('section'),
    e: () => actions.showView('elevation'),
    f: () => actions.showView('free'),
    m: () => actions.startMeasuring(store.measure.value.name === 'picking' && store.measure.value.tool === 'distance' ? 'area' : 'distance'),
    l: () => actions.drawSection(),
    c: () => actions.startCorner(),
    n: () => actions.stepBuilding(1),
    b: () => actions.stepBuilding(-1),
    o: () => document.querySelector<HTMLInputElement>('[data-file-chooser]')?.click(),
    '[': () => board.current?.turnElevation(-90),
    ']': () => board.current?.turnElevation(90),
    escape: () => actions.escape(),
    '?': showKeys,
  };
  deeds[key]?.();
}
