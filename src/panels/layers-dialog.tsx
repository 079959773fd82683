import { useRef } from 'preact/hooks';
import { useApp } from './app-context.ts';

const LAYERS = [
  ['points', 'measured points'],
  ['surfaces', 'roof surfaces'],
  ['edges', 'edges'],
  ['things', 'things in the way, pins'],
  ['letters', 'letters and names'],
  ['readings', 'readings by hand'],
] as const;

/** What of the drawing is shown; each layer for itself. */
export function LayersCell() {
  const { store } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  const layers = store.layers.value;
  const shown = LAYERS.filter(([name]) => layers[name]).length;
  return (
    <>
      <button type="button" class="cell menu" aria-haspopup="dialog" onClick={() => dialog.current?.showModal()}>
        <span class="cell-name">shown</span>
        <span class="cell-value">{shown === LAYERS.length ? 'all' : `${shown} of ${LAYERS.length}`}</span>
      </button>
      <dialog ref={dialog} class="small-dialog" aria-labelledby="layers-title">
        <h2 id="layers-title">Shown in the drawing</h2>
        <form method="dialog">
          <ul class="kept">
            {LAYERS.map(([name, words]) => (
              <li key={name}>
                <label class="check">
                  <input type="checkbox" checked={layers[name]} onChange={(event) => (store.layers.value = { ...store.layers.value, [name]: event.currentTarget.checked })} />
                  {words}
                </label>
              </li>
            ))}
          </ul>
          <button type="submit" class="deed">Close</button>
        </form>
      </dialog>
    </>
  );
}
