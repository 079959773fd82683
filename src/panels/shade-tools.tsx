import { useEffect } from 'preact/hooks';
import { useApp } from './app-context.ts';
import type { ShadeShown } from './fit-state.ts';
import type { Store } from './store.ts';
import { clockOf, momentsOf, STEP_MINUTES } from './shade-view.ts';

const SHOWN: readonly (readonly [ShadeShown, string])[] = [
  ['none', 'nothing'], ['year', 'solar access, year'], ['month', 'solar access, one month'], ['day', 'hours without sun, one day'],
  ['solstice', 'hours without sun, 9 to 15 h at the winter solstice'], ['moment', 'shade through a day'],
];
const MONTHS = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];

/** Shade on the roof as a picture: what is shown, its legend, and a day to walk through. */
export function ShadeTools() {
  const { store, fitting: deeds } = useApp();
  const { fitting } = store;
  const shown = fitting.shown.value;
  const show = fitting.shade.value;
  return (
    <section class="shade-tools" aria-label="Shade on the roof">
      <div class="fit-form">
        <label>shade shown <select value={shown} onChange={(event) => void deeds.showShade(event.currentTarget.value as ShadeShown)}>
          {SHOWN.map(([name, words]) => <option key={name} value={name}>{words}</option>)}
        </select></label>
        {shown === 'month' && <label>month <select value={fitting.month.value} onChange={(event) => (fitting.month.value = Number(event.currentTarget.value))}>{MONTHS.map((name, i) => <option key={name} value={i}>{name}</option>)}</select></label>}
        {(shown === 'day' || shown === 'moment') && <label>day <input type="date" value={fitting.day.value} onInput={(event) => (fitting.day.value = event.currentTarget.value)} /></label>}
      </div>
      {shown === 'moment' && fitting.picture.value && <DayWalk />}
      {show && (
        <>
          <ul class="shade-legend" aria-label="Legend">
            {show.legend.map(({ colour, words }) => <li key={words}><span class="swatch" style={colour ? { background: colour } : {}} />{words}</li>)}
          </ul>
          <p class="say">{show.planes.slice(0, 12).map(({ id, words }) => `${planeWords(store, id)} ${words}`).join(', ')}{show.planes.length > 12 ? `, and ${show.planes.length - 12} planes more` : ''}. {fitting.picture.value!.hasSurface ? 'Shade from the record and the measured points.' : 'Only what the record holds throws shade: its points are not open.'}</p>
        </>
      )}
    </section>
  );
}

/** A plane by its name, with its building where there are several. */
function planeWords({ names, record }: Store, id: string): string {
  const buildings = record.value?.buildings ?? [];
  const home = buildings.length > 1 ? buildings.find(({ roofPlanes }) => roofPlanes.some((plane) => plane.id === id))?.id : undefined;
  return `${home === undefined ? '' : `${home} `}${names.value.get(id) ?? id}`;
}

/** A day step by step: a slider, and a button that walks it. */
function DayWalk() {
  const { store } = useApp();
  const { fitting } = store;
  const picture = fitting.picture.value!;
  const moments = momentsOf(picture, fitting.day.value);
  const last = Math.max(0, moments.length - 1);
  const at = Math.min(fitting.moment.value, last);
  useEffect(() => {
    if (!fitting.playing.value || moments.length === 0) return;
    // Who asked for less motion gets an hour a second instead of a flow.
    const calm = window.matchMedia('(prefers-reduced-motion: reduce)').matches;
    const [step, wait] = calm ? [60 / STEP_MINUTES, 1000] : [1, 120];
    const timer = window.setInterval(() => {
      const next = fitting.moment.value + step;
      fitting.moment.value = next > last ? 0 : next;
    }, wait);
    return () => clearInterval(timer);
  }, [fitting.playing.value, last]);
  if (moments.length === 0) return <p class="say">The sun does not rise here on that day.</p>;
  const clock = clockOf(moments[at]!, picture.longitudeDeg);
  return (
    <div class="day-walk">
      <button type="button" class="deed" aria-pressed={fitting.playing.value} onClick={() => (fitting.playing.value = !fitting.playing.value)}>{fitting.playing.value ? 'Stop' : 'Play the day'}</button>
      <label>solar time <input type="range" min={0} max={last} value={at} aria-valuetext={clock} onInput={(event) => { fitting.playing.value = false; fitting.moment.value = Number(event.currentTarget.value); }} /></label>
      <output>{clock}</output>
    </div>
  );
}
