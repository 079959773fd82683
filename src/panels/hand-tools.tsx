import { SHIFT_STEP } from './fit-drawing.ts';
import type { Building, ModuleLayout } from '../roof/record.ts';
import { useApp } from './app-context.ts';

const WAYS = [['ArrowLeft', 'left', -1, 0], ['ArrowRight', 'right', 1, 0], ['ArrowUp', 'up the slope', 0, 1], ['ArrowDown', 'down the slope', 0, -1]] as const;
const SIGNS = { ArrowLeft: '←', ArrowRight: '→', ArrowUp: '↑', ArrowDown: '↓' } as const;

/** More than this are listed one building at a time: nobody finds a module in a list of hundreds, and each change would make it anew. */
const MOST_LISTED = 100;

/** Modules offered by name: of the building in view, of a small site all, else of the chosen one's building or the first that has any. */
function listedModules(modules: ModuleLayout['modules'], buildings: readonly Building[], chosen: ModuleLayout['modules'][number] | null, inView: string | null): ModuleLayout['modules'] {
  if (inView === null && modules.length <= MOST_LISTED) return modules;
  const like = chosen ?? modules[0];
  const building = buildings.find(({ id, roofPlanes }) => (inView === null ? roofPlanes.some((plane) => plane.id === like?.plane) : id === inView));
  const planes = new Set(building?.roofPlanes.map(({ id }) => id));
  return modules.filter((module) => planes.has(module.plane) || module === chosen);
}

/** Modules by hand: choose one in the drawing or the list, shift it, take it away, or place one more. */
export function HandTools() {
  const { store, fitting: deeds } = useApp();
  const { module, hand } = store.fitting;
  const layout = store.record.value!.layout!;
  const chosen = layout.modules.find(({ id }) => id === module.value);
  const listed = listedModules(layout.modules, store.record.value!.buildings, chosen ?? null, store.building.value);
  const onKey = (event: KeyboardEvent): void => {
    // In the list itself arrows choose another module.
    if (event.target instanceof HTMLSelectElement && event.key.startsWith('Arrow')) return;
    const way = WAYS.find(([key]) => key === event.key);
    const step = event.shiftKey ? SHIFT_STEP / 10 : SHIFT_STEP;
    if (way && chosen) void deeds.shift([way[2] * step, way[3] * step]);
    else if ((event.key === 'Delete' || event.key === 'Backspace') && chosen) void deeds.remove();
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <fieldset class="hand-tools" onKeyDown={onKey}>
      <legend>by hand</legend>
      <label>module <select value={chosen?.id ?? ''} onChange={(event) => deeds.choose(event.currentTarget.value || null)}>
        <option value="">none chosen</option>
        {listed.map(({ id, plane, solarAccess }) => <option key={id} value={id}>{id.replace(plane, `${plane.split('.')[0]!} ${store.names.value.get(plane) ?? plane}`).replace('.m', ' m')}{solarAccess === null ? '' : `, access ${Math.round(100 * solarAccess)} %`}</option>)}
        {listed.length < layout.modules.length && store.building.value === null && <option disabled>{layout.modules.length - listed.length} on other roofs: click them in the drawing</option>}
      </select></label>
      {chosen && (
        <div class="nudges" role="group" aria-label="Shift by 10 cm, with Shift by 1 cm">
          {WAYS.map(([key, words, right, up]) => (
            <button key={key} type="button" class="deed" aria-label={`shift ${words}`} onClick={(event) => void deeds.shift([right * SHIFT_STEP / (event.shiftKey ? 10 : 1), up * SHIFT_STEP / (event.shiftKey ? 10 : 1)])}>{SIGNS[key]}</button>
          ))}
          <button type="button" class="deed" onClick={() => void deeds.remove()}>Take it away</button>
          <button type="button" class="deed" onClick={() => void deeds.placeBeside()}>One beside it</button>
        </div>
      )}
      <button type="button" class="deed" aria-pressed={hand.value === 'place'} onClick={() => (hand.value === 'place' ? (hand.value = 'choose') : deeds.startPlacing())}>{hand.value === 'place' ? 'Click a place' : 'Place one more'}</button>
    </fieldset>
  );
}
