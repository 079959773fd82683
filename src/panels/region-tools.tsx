import { useState } from 'preact/hooks';
import { useApp } from './app-context.ts';
import { ToolSheet } from './tool-sheet.tsx';

/** While a region is drawn or pasted: what was taken, and how it ends. */
export function RegionTools() {
  const { store, actions } = useApp();
  const [pasted, setPasted] = useState('');
  const corners = store.regionCorners.value;
  return (
    <ToolSheet onSubmit={() => void actions.surveyRegion(pasted)}>
      <p class="say"><b>{corners.length} corners.</b> {store.compact.value ? 'Tap' : 'Click'} them in plan, and close at the first; or paste corners in the coordinates of the file: <code>x y</code>, one a line, or a GeoJSON polygon.</p>
      <label class="paste">corners <textarea value={pasted} rows={3} cols={34} onInput={(event) => setPasted(event.currentTarget.value)} /></label>
      <div class="deeds">
        <button type="submit" class="deed" disabled={corners.length < 3 && pasted.trim() === ''}>Survey this region</button>
        {corners.length > 0 && <button type="button" class="quiet" onClick={() => (store.regionCorners.value = corners.slice(0, -1))}>One back</button>}
        <button type="button" class="quiet" onClick={() => actions.escape()}>Leave it</button>
      </div>
    </ToolSheet>
  );
}
