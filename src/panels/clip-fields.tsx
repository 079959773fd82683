import type { Vector3 } from '../geometry/vector.ts';
import { withSide, type ClipBox } from '../viewer/clip-box.ts';
import { useApp } from './app-context.ts';

const AXES = [
  { axis: 0, word: 'east' },
  { axis: 1, word: 'north' },
  { axis: 2, word: 'height' },
] as const;
const ENDS = ['min', 'max'] as const;
const STEP_M = 0.1;

/** The box points are shown in: drawn in plan, or set side by side. */
export function ClipFields({ onDraw }: { readonly onDraw: () => void }) {
  const { store, actions } = useApp();
  const site = store.points.value?.cloud.bounds ?? null;
  const box = store.clip.value;
  const record = store.record.value;
  if (!site || !record) return null;
  const file: FileScale = { origin: record.frame.origin, unitM: record.sources[0]?.unitToMetre ?? 1 };
  const building = store.scene.value?.buildings.find(({ id }) => id === store.building.value);
  return (
    <fieldset class="clip">
      <legend>Points only inside a box, in the coordinates of the file</legend>
      <div class="deeds">
        <button type="button" class="deed" onClick={() => (onDraw(), actions.startClipping())}>Draw it in plan</button>
        {building && <button type="button" class="deed" onClick={() => (store.clip.value = around(building.bounds))}>Round {building.id}</button>}
        <button type="button" class="quiet" disabled={!box} onClick={() => (store.clip.value = null)}>All points</button>
      </div>
      <table>
        <thead>
          <tr><th scope="col"><span class="for-readers">axis</span></th><th scope="col">from</th><th scope="col">to</th></tr>
        </thead>
        <tbody>
          {AXES.map(({ axis, word }) => (
            <tr key={word}>
              <th scope="row">{word}</th>
              {ENDS.map((end) => (
                <td key={end}><Side box={box ?? site} site={site} file={file} end={end} axis={axis} name={`${word} ${end === 'min' ? 'from' : 'to'}`} /></td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </fieldset>
  );
}

/** Where the local frame lies in the file, and the file's unit. [m] */
interface FileScale {
  readonly origin: Vector3;
  readonly unitM: number;
}

/** One side of the box: a slider for the hand, a number for the exact place. */
function Side({ box, site, file, end, axis, name }: { readonly box: ClipBox; readonly site: ClipBox; readonly file: FileScale; readonly end: 'min' | 'max'; readonly axis: 0 | 1 | 2; readonly name: string }) {
  const { store } = useApp();
  const inFile = (local: number): number => (local + file.origin[axis]) / file.unitM;
  const value = Number(inFile(box[end][axis]).toFixed(2));
  const set = (text: string): void => {
    const typed = Number(text);
    if (text.trim() !== '' && Number.isFinite(typed)) store.clip.value = withSide(box, end, axis, typed * file.unitM - file.origin[axis]);
  };
  const range = { min: Math.floor(inFile(site.min[axis])), max: Math.ceil(inFile(site.max[axis])), step: STEP_M / file.unitM };
  return (
    <>
      <input type="range" aria-label={`${name}, slider`} {...range} value={value} onInput={(event) => set(event.currentTarget.value)} />
      <input type="number" aria-label={name} step="any" value={value} onChange={(event) => set(event.currentTarget.value)} />
    </>
  );
}

/** Room round a building, for its own edges and what stands beside it. [m] */
const MARGIN_M = 0.5;
const around = ({ min, max }: ClipBox): ClipBox => ({
  min: [min[0] - MARGIN_M, min[1] - MARGIN_M, min[2] - MARGIN_M],
  max: [max[0] + MARGIN_M, max[1] + MARGIN_M, max[2] + 3],
});
