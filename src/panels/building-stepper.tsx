import { useApp } from './app-context.ts';
import { SignBuilding } from './deeds.tsx';
import { passesFilter, type SiteFilter } from './site-state.ts';

const FILTERS: readonly { readonly filter: SiteFilter; readonly words: string }[] = [
  { filter: 'all', words: 'all buildings' },
  { filter: 'doubtful', words: 'doubtful ones' },
  { filter: 'unsigned', words: 'unsigned ones' },
];

/** Which building is looked at; walks through those the filter shows, or shows the site. */
export function BuildingStepper() {
  const { store, actions } = useApp();
  const buildings = store.record.value?.buildings ?? [];
  if (buildings.length < 2) return null;
  const shown = store.building.value;
  const state = store.sites.value.find(({ id }) => id === shown);
  const filter = store.siteFilter.value;
  const passing = store.sites.value.filter((site) => passesFilter(site, filter));
  // What is looked at stays in the list, also when the filter would hide it.
  const listed = buildings.filter(({ id }) => id === shown || passing.some((site) => site.id === id));
  return (
    <div class="stepper" role="group" aria-label="Building">
      <button type="button" class="quiet" disabled={passing.length === 0} onClick={() => actions.stepBuilding(-1)}>Before<kbd>B</kbd></button>
      <select aria-label="Building shown" value={shown ?? ''} onChange={(event) => actions.showBuilding(event.currentTarget.value || null)}>
        <option value="">the whole site</option>
        {listed.map(({ id }) => <option key={id} value={id}>building {id} ({buildings.findIndex((building) => building.id === id) + 1} of {buildings.length})</option>)}
      </select>
      <button type="button" class="quiet" disabled={passing.length === 0} onClick={() => actions.stepBuilding(1)}>Next<kbd>N</kbd></button>
      {shown && <button type="button" class="quiet" onClick={() => actions.showBuilding(null)}>All</button>}
      <div class="site-line">
        <label>step through <select value={filter} onChange={(event) => (store.siteFilter.value = event.currentTarget.value as SiteFilter)}>
          {FILTERS.map((choice) => <option key={choice.filter} value={choice.filter}>{choice.words} ({store.sites.value.filter((site) => passesFilter(site, choice.filter)).length})</option>)}
        </select></label>
        {state && (state.signed ? <span class="say">signed {state.signed}</span> : <SignBuilding building={state.id} />)}
      </div>
    </div>
  );
}
