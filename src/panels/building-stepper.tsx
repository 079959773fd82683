import { useApp } from './app-context.ts';

/** Which building is looked at; walks through them, or shows the site. */
export function BuildingStepper() {
  const { store, actions } = useApp();
  const buildings = store.record.value?.buildings ?? [];
  if (buildings.length < 2) return null;
  const at = buildings.findIndex(({ id }) => id === store.building.value);
  return (
    <div class="stepper" role="group" aria-label="Building">
      <button type="button" class="quiet" onClick={() => actions.stepBuilding(-1)}>Before<kbd>B</kbd></button>
      <select aria-label="Building shown" value={store.building.value ?? ''} onChange={(event) => actions.showBuilding(event.currentTarget.value || null)}>
        <option value="">the whole site</option>
        {buildings.map(({ id }, i) => <option key={id} value={id}>building {id} ({i + 1} of {buildings.length})</option>)}
      </select>
      <button type="button" class="quiet" onClick={() => actions.stepBuilding(1)}>Next<kbd>N</kbd></button>
      {at >= 0 && <button type="button" class="quiet" onClick={() => actions.showBuilding(null)}>All</button>}
    </div>
  );
}
