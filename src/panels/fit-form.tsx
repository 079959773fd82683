import { FIT_FLAGS } from '../layout/fit-flags.ts';
import { SHIPPED_RULES } from '../layout/shipped-rules.ts';
import { useApp } from './app-context.ts';

const RULES = Object.keys(SHIPPED_RULES);
const STYLES = { rows: 'rows that shift for themselves', aligned: 'one even grid', most: 'as many as can be' } as const;
const TURNS = { either: 'whichever holds more', upright: 'longer side up the slope', lying: 'longer side level' } as const;
const RACKS = { 'one-way': 'rows facing the equator', 'east-west': 'pairs facing east and west' } as const;
/** Fields seldom changed: option, words, width. What each means stands with the options themselves. */
const MORE = [
  ['module-gap-m', 'between modules, m', 5], ['facing', 'racks face, °', 5], ['row-gap-m', 'between rows, m', 5], ['least-access', 'least solar access', 5], ['least-plane-yield', 'least yield of a plane', 5], ['least-group', 'fewest on a plane', 3],
  ['linke', 'turbidity, one or twelve', 16], ['performance-ratio', 'performance ratio', 5], ['albedo', 'albedo', 5], ['elevation-m', 'site above the sea, m', 6], ['building-height-m', 'roof above ground, m', 5],
] as const;

/** Rules, module and need; they stand as the person left them. */
export function FitForm() {
  const { store, fitting: deeds } = useApp();
  const { form, ownRules, monthly, care, careChosen } = store.fitting;
  const values = form.value;
  const set = (name: string) => (event: { currentTarget: { value: string } }) => (form.value = { ...values, [name]: event.currentTarget.value });
  const field = (name: string, words: string, size: number) => (
    <label key={name} title={FIT_FLAGS.find((flag) => flag.name === name)?.about}>{words} <input value={values[name]} size={size} inputMode="decimal" onInput={set(name)} /></label>
  );
  const choice = (name: string, words: string, choices: Readonly<Record<string, string>>) => (
    <label>{words} <select value={values[name]} onChange={set(name)}>{Object.entries(choices).map(([value, said]) => <option key={value} value={value}>{said}</option>)}</select></label>
  );
  const file = (words: string, accept: string, open: (file: File) => Promise<void>) => (
    <label>{words} <input type="file" accept={accept} onChange={(event) => { const chosen = event.currentTarget.files?.[0]; if (chosen) void open(chosen); event.currentTarget.value = ''; }} /></label>
  );
  const hasProjection = store.record.value!.sources.some(({ crs }) => crs !== null);
  return (
    <form class="fit-form" onSubmit={(event) => { event.preventDefault(); void deeds.fit(); }}>
      {ownRules.value
        ? <span>rules {ownRules.value.name} <button type="button" class="quiet" onClick={() => (ownRules.value = null)}>Leave them out</button></span>
        : choice('rules', 'rules', Object.fromEntries(RULES.map((name) => [name, name.replaceAll('-', ' ')])))}
      {file('or rules of your own, JSON', '.json,application/json', (chosen) => deeds.openRules(chosen))}
      {choice('style', 'placed as', STYLES)}
      <label>module, m <input value={values['module']} size={13} onInput={set('module')} /></label>
      {field('power-w', 'rated, W', 5)}
      {field('tilt', 'racks on level roofs, °', 4)}
      {values['tilt']!.trim() !== '' && choice('rack', 'racks as', RACKS)}
      {field('need-kwh', 'need, kWh a year', 8)}
      {field('households', 'or households', 3)}
      {field('use-kwh', 'at kWh each', 6)}
      {!hasProjection && field('latitude', 'latitude, °', 7)}
      {!hasProjection && field('longitude', 'longitude, °', 7)}
      {file('irradiation by month, CSV', '.csv,text/csv', (chosen) => deeds.openMonthly(chosen))}
      {monthly.value && <span>{monthly.value.name} <button type="button" class="quiet" onClick={() => (monthly.value = null)}>Leave it out</button></span>}
      <details>
        <summary>More</summary>
        <div class="fit-form">
          {choice('turn', 'modules stand', TURNS)}
          {MORE.map(([name, words, size]) => field(name, words, size))}
        </div>
      </details>
      <label><input type="checkbox" checked={care.value} onChange={(event) => (careChosen.value = event.currentTarget.checked)} /> how sure, and what costs what</label>
      <button type="submit" class="deed">Place modules</button>
    </form>
  );
}
