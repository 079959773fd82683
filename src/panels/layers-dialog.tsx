import { useRef } from 'preact/hooks';
import { useApp } from './app-context.ts';
import { ClipFields } from './clip-fields.tsx';

const LAYERS = [
  ['points', 'measured points'],
  ['meshes', 'meshes, in place of their points'],
  ['shading', 'shade by depth, free view and elevation'],
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
  const offered = LAYERS.filter(([name]) => name !== 'meshes' || (store.points.value?.meshes.length ?? 0) > 0);
  const shown = offered.filter(([name]) => layers[name]).length;
  const all = shown === offered.length && !store.clip.value;
  return (
    <>
      <button type="button" class="cell menu" aria-haspopup="dialog" onClick={() => dialog.current?.showModal()}>
        <span class="cell-name">shown</span>
        <span class="cell-value">{all ? 'all' : store.clip.value ? `${shown} of ${offered.length}, in a box` : `${shown} of ${offered.length}`}</span>
      </button>
      <dialog ref={dialog} class="small-dialog" aria-labelledby="layers-title">
        <h2 id="layers-title">Shown in the drawing</h2>
        <form method="dialog">
          <ul class="kept">
            {offered.map(([name, words]) => (
              <li key={name}>
                <label class="check">
                  <input type="checkbox" checked={layers[name]} onChange={(event) => (store.layers.value = { ...store.layers.value, [name]: event.currentTarget.checked })} />
                  {words}
                </label>
              </li>
            ))}
          </ul>
          <ClipFields onDraw={() => dialog.current?.close()} />
          <button type="submit" class="deed">Close</button>
        </form>
      </dialog>
    </>
  );
}
