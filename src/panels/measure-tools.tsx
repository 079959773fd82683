import type { MeasureTool } from '../survey/measure/measure-step.ts';
import { useApp } from './app-context.ts';

const TOOLS: readonly { readonly tool: MeasureTool; readonly word: string }[] = [
  { tool: 'distance', word: 'distance' },
  { tool: 'area', word: 'area' },
  { tool: 'height-above-roof', word: 'height above roof' },
  { tool: 'pitch', word: 'pitch' },
  { tool: 'angle', word: 'angle' },
  { tool: 'bearing', word: 'bearing' },
  { tool: 'radius', word: 'radius' },
];

const HOW: Readonly<Record<MeasureTool, string>> = {
  distance: 'Two places. Slope, level and height difference are read at once.',
  area: 'Three places or more; close it at the first, or with Close.',
  'height-above-roof': 'First a roof plane, then what stands above it.',
  pitch: 'Three places on one surface.',
  angle: 'A place on the first side, the corner, a place on the second side.',
  bearing: 'Where it starts, where it points.',
  radius: 'Three places on the rim.',
  outline: 'The corners of its foot, on the roof; close it at the first, or with Close.',
};

/** What is being measured, while measuring. */
export function MeasureTools() {
  const { store, actions } = useApp();
  const { measure } = store;
  if (measure.value.name !== 'picking') return null;
  const { tool, picks } = measure.value;
  return (
    <div class="measure-tools">
      <div class="choices" role="group" aria-label="What to measure">
        {(tool === 'outline' ? [{ tool, word: 'outline of a thing' }] : TOOLS).map((choice) => (
          <button key={choice.tool} type="button" aria-pressed={choice.tool === tool} onClick={() => actions.startMeasuring(choice.tool)}>{choice.word}</button>
        ))}
      </div>
      <p class="say">
        <b>{picks.length} taken.</b> {HOW[tool]}
      </p>
      <div class="deeds">
        {(tool === 'area' || tool === 'outline') && picks.length >= 3 && <button type="button" class="deed" onClick={() => actions.measure({ kind: 'close' })}>Close</button>}
        {picks.length > 0 && <button type="button" class="quiet" onClick={() => actions.measure({ kind: 'back' })}>One back</button>}
        <button type="button" class="quiet" onClick={() => actions.measure({ kind: 'cancel' })}>End measuring</button>
      </div>
    </div>
  );
}
