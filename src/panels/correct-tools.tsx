import { closesAfter, type CorrectTool } from '../survey/correct/correct-step.ts';
import { useApp } from './app-context.ts';
import { CORRECT_TOOLS } from './correct-words.ts';
import { fingerWords } from './finger-words.ts';
import { ToolChoice } from './tool-choice.tsx';
import { ToolSheet } from './tool-sheet.tsx';
import { TypedPlaceField } from './typed-place-field.tsx';

/** Tools of the open question; a foot is only drawn again for a thing that is chosen. */
const OF_ROOF: readonly CorrectTool[] = ['move-corner', 'add-corner', 'remove-corner', 'merge', 'split', 'lasso', 'parapet'];
const OF_WAY: readonly CorrectTool[] = ['reshape', 'parapet'];
/** Tools whose next place may be typed, from so many picks on. */
const TYPED_FROM: Readonly<Partial<Record<CorrectTool, number>>> = { 'move-corner': 1, 'add-corner': 1, split: 0, lasso: 0, reshape: 0, parapet: 0 };

/** What is being corrected, while correcting: which tool, what it does, what comes next, and why it is done. */
export function CorrectTools() {
  const { store, actions } = useApp();
  const state = store.correct.value;
  if (store.tool.value !== 'correct' || state.name !== 'correcting') return null;
  const { tool, picks, about } = state;
  const tools = store.question.value === 3 ? OF_WAY.filter((choice) => choice !== 'reshape' || tool === 'reshape' || store.selection.value?.kind === 'obstruction') : OF_ROOF;
  const least = closesAfter(tool);
  const typed = TYPED_FROM[tool];
  const next = CORRECT_TOOLS[tool].next(picks.length, about ? (store.names.value.get(about) ?? about) : null);
  return (
    <ToolSheet>
      <ToolChoice
        label="What to correct"
        tools={(tools.includes(tool) ? tools : [tool, ...tools]).map((choice) => ({ tool: choice, word: CORRECT_TOOLS[choice].name, key: CORRECT_TOOLS[choice].key }))}
        chosen={tool}
        onChoose={(choice) => actions.startCorrecting(choice)}
      />
      <p class="say"><b>{store.compact.value ? fingerWords(next) : next}</b></p>
      <p class="say">{CORRECT_TOOLS[tool].help}</p>
      {tool === 'merge' && <PlaneChoice />}
      {typed !== undefined && picks.length >= typed && <TypedPlaceField />}
      <label class="paste">why <input value={store.why.value} size={30} placeholder="goes on the record" onInput={(event) => (store.why.value = event.currentTarget.value)} /></label>
      <div class="deeds">
        {least !== null && picks.length >= least && <button type="button" class="deed" onClick={() => actions.correct({ kind: 'close' })}>Close</button>}
        {picks.length > 0 && <button type="button" class="quiet" onClick={() => actions.correct({ kind: 'back' })}>One back</button>}
        <button type="button" class="quiet" onClick={() => actions.correct({ kind: 'cancel' })}>Leave it</button>
      </div>
    </ToolSheet>
  );
}

/** Planes by name, for whoever does not point at them. */
function PlaneChoice() {
  const { store, actions } = useApp();
  const building = store.currentBuilding.value;
  const state = store.correct.value;
  if (!building || state.name !== 'correcting') return null;
  const taken = state.picks[0]?.of ?? state.about;
  const planes = building.roofPlanes.filter(({ id }) => id !== taken && !store.refused.value.has(id));
  return (
    <label class="paste">or choose <select value="" onChange={(event) => actions.pickPlane(event.currentTarget.value)}>
      <option value="" disabled>a plane of {building.id}</option>
      {planes.map(({ id }) => <option key={id} value={id}>{store.names.value.get(id)}</option>)}
    </select></label>
  );
}
