import type { RefObject } from 'preact';
import { useApp } from './app-context.ts';

/** Everything that was done, newest first, with steps that were taken back. */
export function HistoryDialog({ dialog }: { readonly dialog: RefObject<HTMLDialogElement | null> }) {
  const { store, actions } = useApp();
  const history = store.history.value;
  const steps = history?.steps ?? [];
  return (
    <dialog ref={dialog} class="small-dialog" aria-labelledby="history-title">
      <h2 id="history-title">What was done</h2>
      {steps.length === 0 && <p class="say">Nothing yet. Every reading and decision is listed here, and can be taken back.</p>}
      <ol class="steps" reversed>
        {steps.map((step, i) => ({ step, done: i < (history?.done ?? 0) })).toReversed().map(({ step, done }, i) => (
          <li key={steps.length - i} class={done ? '' : 'taken-back'}>
            <span>{step.title}</span>
            <span class="when">{done ? new Date(step.at).toLocaleTimeString('en-GB') : 'taken back'}</span>
          </li>
        ))}
      </ol>
      <div class="deeds">
        <button type="button" class="deed" onClick={() => actions.undo()}>Undo<kbd>Ctrl Z</kbd></button>
        <button type="button" class="deed" onClick={() => actions.redo()}>Redo<kbd>Ctrl Y</kbd></button>
        <button type="button" class="quiet" onClick={() => dialog.current?.close()}>Close</button>
      </div>
    </dialog>
  );
}
