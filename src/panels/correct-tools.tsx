import { closesAfter, type CorrectTool } from '../survey/correct/correct-step.ts';
import { useApp } from './app-context.ts';
import { CORRECT_TOOLS } from './correct-words.ts';
import { TypedPlaceField } from './typed-place-field.tsx';

/** Tools of the open question; a foot is only drawn again for a thing that is chosen. */
const OF_ROOF: readonly CorrectTool[] = ['move-corner', 'add-corner', 'remove-corner', 'merge', 'split', 'lasso', 'parapet'];
const OF_WAY: readonly CorrectTool[] = ['reshape', 'parapet'];
/** Tools whose next place may be typed, from so many picks on. */
const TYPED_FROM: Readonly<Partial<Record<CorrectTool, number>>> = { 'move-corner': 1, 'add-corner': 1, split: 1, lasso: 1, reshape: 1, parapet: 1 };

/** What is being corrected, while correcting: which tool, what it does, what comes next, and why it is done. */
export function CorrectTools() {
  const { store, actions } = useApp();
  const state = store.correct.value;
  if (store.tool.value !== 'correct' || state.name !== 'correcting') return null;
  const { tool, picks, about } = state;
  const tools = store.question.value === 3 ? OF_WAY.filter((choice) => choice !== 'reshape' || tool === 'reshape' || store.selection.value?.kind === 'obstruction') : OF_ROOF;
  const least = closesAfter(tool);
  const typed = TYPED_FROM[tool];
  return (
    <div class="measure-tools">
      <div class="choices" role="group" aria-label="What to correct">
        {(tools.includes(tool) ? tools : [tool, ...tools]).map((choice) => (
          <button key={choice} type="button" aria-pressed={choice === tool} onClick={() => actions.startCorrecting(choice)}>
            {CORRECT_TOOLS[choice].name}<kbd>{CORRECT_TOOLS[choice].key}</kbd>
          </button>
        ))}
      </div>
      <p class="say"><b>{CORRECT_TOOLS[tool].next(picks.length, about ? (store.names.value.get(about) ?? about) : null)}</b></p>
      <p class="say">{CORRECT_TOOLS[tool].help}</p>
      {typed !== undefined && picks.length >= typed && <TypedPlaceField />}
      <label class="paste">why <input value={store.why.value} size={30} placeholder="goes on the record" onInput={(event) => (store.why.value = event.currentTarget.value)} /></label>
      <div class="deeds">
        {least !== null && picks.length >= least && <button type="button" class="deed" onClick={() => actions.correct({ kind: 'close' })}>Close</button>}
        {picks.length > 0 && <button type="button" class="quiet" onClick={() => actions.correct({ kind: 'back' })}>One back</button>}
        <button type="button" class="quiet" onClick={() => actions.correct({ kind: 'cancel' })}>Leave it</button>
      </div>
    </div>
  );
}
