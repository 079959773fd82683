import type { ViewName } from '../viewer/projection.ts';
import { useApp } from './app-context.ts';
import { Statements } from './statements-dialog.tsx';

export const VIEWS: readonly { readonly name: ViewName; readonly word: string; readonly key: string }[] = [
  { name: 'plan', word: 'Plan', key: 'P' },
  { name: 'section', word: 'Section A–A', key: 'S' },
  { name: 'elevation', word: 'Elevation', key: 'E' },
  { name: 'free', word: 'Free', key: 'F' },
];

/** The four views as plain words, and the one sentence that says what happens. */
export function ViewStrip() {
  const { store, actions } = useApp();
  return (
    <div class="strip">
      <div class="views" role="group" aria-label="Views">
        {VIEWS.map(({ name, word, key }) => (
          <button key={name} type="button" aria-pressed={store.view.value === name} onClick={() => actions.showView(name)}>
            {word}
            <kbd>{key}</kbd>
          </button>
        ))}
      </div>
      <SpokenLine />
    </div>
  );
}

export function SpokenLine() {
  const { store } = useApp();
  const busy = store.busy.value;
  const { strong, text } = store.spoken.value;
  if (busy) {
    return (
      <div class="spoken busy">
        <progress max={1} value={busy.fraction} aria-label={busy.stage} />
        <span role="status">
          <b>{busy.stage}</b>, {Math.round(busy.fraction * 100)} of 100
        </span>
        <button type="button" class="quiet" onClick={busy.cancel}>Stop</button>
      </div>
    );
  }
  const joint = strong === undefined || /^[,.]/.test(text) ? '' : ' ';
  return (
    <>
      <p class="spoken" role="status" aria-live="polite">
        <span>{strong !== undefined && <b>{strong}</b>}{joint}{text}</span>
      </p>
      {store.refusedFiles.value && <Statements words="State what they do not say" quiet />}
    </>
  );
}
