import type { CorrectTool } from '../survey/correct/correct-step.ts';
import type { App } from './app-context.ts';
import { CORRECT_TOOLS } from './correct-words.ts';
import type { QuestionNumber } from './questions.ts';
import { stepThickness } from './section-thickness.ts';

const CORRECT_KEYS = Object.entries(CORRECT_TOOLS).map(([tool, { name, key }]) => [key, tool as CorrectTool, name] as const);

/** Keys and what they do, as the sheet of keys shows them. */
export const KEYS: readonly (readonly [string, string])[] = [
  ['1 to 7', 'open a question; while places are taken, type the next one'],
  ['P  S  E  F', 'plan, section, elevation, free view'],
  ['M', 'measure a distance; again for an area'],
  ['H', 'measure a height above the roof'],
  ['L', 'draw a section line'],
  ...CORRECT_KEYS.map(([key, , name]) => [key, name.toLowerCase()] as const),
  ['K', 'next kind of the chosen edge'],
  ['V, Delete', 'accept, refuse what is chosen'],
  ['N  B', 'next building, building before, of those the filter shows'],
  ['O', 'choose files'],
  ['Ctrl Z, Ctrl Y', 'undo, redo'],
  ['Ctrl S', 'save the record as a file'],
  ['Arrows, + − 0', 'on the drawing: move, zoom, show all'],
  ['.  ,', 'next part, part before: planes, edges, things; while places are taken: next place the tool asks for, one before'],
  ['Arrows, Enter', 'while places are taken: move the place 1 mm (Shift 1 cm, Ctrl 24 px), take it'],
  ['Enter twice', 'close an outline that is being drawn; a double click does too'],
  ['Arrows, Delete', 'on the drawing, with a module chosen: shift it 10 cm (Shift 1 cm), take it away'],
  ['Shift', 'held while pointing or with Enter: take a bare point, snap to nothing'],
  ['[  ]', 'turn the elevation; make the strip of a section thinner, thicker'],
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
  if (/^[\d=-]$/.test(key) && focusTypedPlace()) return;
  if (/^[1-7]$/.test(key)) return actions.openQuestion(Number(key) as QuestionNumber);
  const tool = CORRECT_KEYS.find(([letter]) => letter.toLowerCase() === key)?.[1];
  if (tool && store.record.value) return actions.startCorrecting(tool);
  const deeds: Record<string, () => void> = {
    p: () => actions.showView('plan'),
    s: () => actions.showView('section'),
    e: () => actions.showView('elevation'),
    f: () => actions.showView('free'),
    m: () => actions.startMeasuring(store.measure.value.name === 'picking' && store.measure.value.tool === 'distance' ? 'area' : 'distance'),
    h: () => actions.startMeasuring('height-above-roof'),
    l: () => actions.drawSection(),
    '.': () => actions.stepPart(1),
    ',': () => actions.stepPart(-1),
    k: () => actions.nextEdgeKind(),
    v: () => actions.judgeChosen('accept'),
    delete: () => actions.judgeChosen('refuse'),
    n: () => actions.stepBuilding(1),
    b: () => actions.stepBuilding(-1),
    o: () => document.querySelector<HTMLInputElement>('[data-file-chooser]')?.click(),
    '[': () => (store.view.value === 'section' ? stepThickness(store, -1) : board.current?.turnElevation(-90)),
    ']': () => (store.view.value === 'section' ? stepThickness(store, 1) : board.current?.turnElevation(90)),
    escape: () => actions.escape(),
    '?': showKeys,
  };
  deeds[key]?.();
}

/** A digit begins a typed place when one is asked for: the key itself then lands in the field. */
function focusTypedPlace(): boolean {
  const field = document.querySelector<HTMLInputElement>('[data-typed-place]');
  field?.focus();
  return field !== null;
}
