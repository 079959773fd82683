import type { MeasureTool } from '../survey/measure/measure-step.ts';
import { useApp } from './app-context.ts';
import { fingerWords } from './finger-words.ts';
import { ToolChoice } from './tool-choice.tsx';
import { ToolSheet } from './tool-sheet.tsx';
import { TypedPlaceField } from './typed-place-field.tsx';

interface MeasureWords {
  readonly word: string;
  /** Two sentences: what to take, and what is read. */
  readonly help: string;
}

const MEASURES: Readonly<Record<MeasureTool, MeasureWords>> = {
  distance: { word: 'distance', help: 'Take two places. Slope, level and height difference are read at once.' },
  area: { word: 'area', help: 'Take three places or more, and close it at the first, with a double click or with Close. The area on the surface and the one in plan are read.' },
  'height-above-roof': { word: 'height above roof', help: 'Take a roof plane, then what stands above it. Read plumb, so a slope does not matter.' },
  'height-above-ground': { word: 'height above ground', help: 'Take one place. Read plumb from the median of the ground about the building, whose relief is in the ±.' },
  pitch: { word: 'pitch', help: 'Take three places on one surface. Wide apart they say more.' },
  angle: { word: 'angle', help: 'Take a place on the first side, the corner, a place on the second side. Read in space, not in plan.' },
  'plane-angle': { word: 'angle of planes', help: 'Take a place well inside each of two roof planes. Read inside the roof: under 180° at a ridge, over it at a valley.' },
  bearing: { word: 'bearing', help: 'Take where it starts, then where it points. Read clockwise from true north; or from grid north where true north is not known.' },
  radius: { word: 'radius', help: 'Take three places on the rim of a round thing. Wide apart they say more.' },
  width: { word: 'width', help: 'Take two places along one side, then one on the other side. Read level and square across.' },
  outline: { word: 'outline of a thing', help: 'Take the corners of its foot on the roof, and close it at the first, with a double click or with Close. Its height is typed or measured after.' },
};

const TOOLS: readonly MeasureTool[] = ['distance', 'area', 'height-above-roof', 'height-above-ground', 'pitch', 'angle', 'plane-angle', 'bearing', 'radius', 'width'];

/** What is being measured, while measuring. */
export function MeasureTools() {
  const { store, actions } = useApp();
  const { measure } = store;
  if (measure.value.name !== 'picking') return null;
  const { tool, picks } = measure.value;
  return (
    <ToolSheet>
      <ToolChoice label="What to measure" tools={(tool === 'outline' ? [tool] : TOOLS).map((choice) => ({ tool: choice, word: MEASURES[choice].word }))} chosen={tool} onChoose={(choice) => actions.startMeasuring(choice)} />
      <p class="say">
        <b>{picks.length} taken.</b> {store.compact.value ? fingerWords(MEASURES[tool].help) : MEASURES[tool].help}
      </p>
      {picks.length > 0 && tool !== 'plane-angle' && <TypedPlaceField />}
      <div class="deeds">
        {(tool === 'area' || tool === 'outline') && picks.length >= 3 && <button type="button" class="deed" onClick={() => actions.measure({ kind: 'close' })}>Close</button>}
        {picks.length > 0 && <button type="button" class="quiet" onClick={() => actions.measure({ kind: 'back' })}>One back</button>}
        <button type="button" class="quiet" onClick={() => actions.measure({ kind: 'cancel' })}>End measuring</button>
      </div>
    </ToolSheet>
  );
}
