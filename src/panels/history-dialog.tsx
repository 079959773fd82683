import type { RefObject } from 'preact';
import { useApp } from './app-context.ts';

/** Everything that was done, newest first by day, with steps that were taken back; any of them can be gone back to. */
export function HistoryDialog({ dialog }: { readonly dialog: RefObject<HTMLDialogElement | null> }) {
  const { store, actions } = useApp();
  const history = store.history.value;
  const steps = history?.steps ?? [];
  const done = history?.done ?? 0;
  const rows = steps.map((step, i) => ({ ...step, number: i + 1, day: dayOf(step.at) })).toReversed();
  return (
    <dialog ref={dialog} class="small-dialog wide" aria-labelledby="history-title">
      <h2 id="history-title">What was done</h2>
      <p class="say">{steps.length === 0 ? 'Nothing yet. Every reading and decision is listed here, and can be taken back.' : countWords(steps.length, done)}</p>
      {steps.length > 0 && (
        <div class="history">
          <table>
            <thead class="for-readers"><tr><th scope="col">step</th><th scope="col">what</th><th scope="col">when</th><th scope="col">go there</th></tr></thead>
            <tbody>
              {rows.map(({ number, title, at, day }, i) => (
                <>
                  {day !== rows[i - 1]?.day && <tr key={day} class="day"><th scope="colgroup" colSpan={4}>{day}</th></tr>}
                  <tr key={number} class={number > done ? 'taken-back' : number === done ? 'now' : ''} aria-current={number === done ? 'step' : undefined}>
                    <td class="number">{number}</td>
                    <th scope="row">{title}</th>
                    <td class="when">{number > done ? 'taken back' : clockOf(at)}</td>
                    <td>{number === done ? <span class="when">here now</span> : <button type="button" class="quiet" onClick={() => actions.goTo(number)}>{number > done ? 'On to here' : 'Back to here'}</button>}</td>
                  </tr>
                </>
              ))}
              <tr class={done === 0 ? 'now' : ''}>
                <td class="number">0</td>
                <th scope="row">as surveyed</th>
                <td class="when" />
                <td>{done === 0 ? <span class="when">here now</span> : <button type="button" class="quiet" onClick={() => actions.goTo(0)}>Back to here</button>}</td>
              </tr>
            </tbody>
          </table>
        </div>
      )}
      <div class="deeds">
        <button type="button" class="deed" onClick={() => actions.undo()}>Undo<kbd>Ctrl Z</kbd></button>
        <button type="button" class="deed" onClick={() => actions.redo()}>Redo<kbd>Ctrl Y</kbd></button>
        <button type="button" class="quiet" onClick={() => dialog.current?.close()}>Close</button>
      </div>
    </dialog>
  );
}

const dayOf = (iso: string): string => new Date(iso).toLocaleDateString('en-GB', { weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' });
const clockOf = (iso: string): string => new Date(iso).toLocaleTimeString('en-GB');

function countWords(steps: number, done: number): string {
  const back = steps - done;
  return `${steps} ${steps === 1 ? 'step' : 'steps'}${back > 0 ? `, ${back} of them taken back; a new deed drops those` : ', all of them in force'}.`;
}
