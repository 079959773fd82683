import { SHIPPED_RULES } from '../layout/shipped-rules.ts';
import { useApp } from './app-context.ts';

const RULES = Object.keys(SHIPPED_RULES);
const STYLES = { rows: 'rows that shift for themselves', aligned: 'one even grid', most: 'as many as can be' } as const;

/** Rules, module and need; they stand as the person left them. */
export function FitForm() {
  const { store, fitting: deeds } = useApp();
  const { form, monthly, care, careChosen } = store.fitting;
  const values = form.value;
  const set = (name: string) => (event: { currentTarget: { value: string } }) => (form.value = { ...values, [name]: event.currentTarget.value });
  const field = (name: string, words: string, size: number) => (
    <label>{words} <input value={values[name]} size={size} inputMode="decimal" onInput={set(name)} /></label>
  );
  const hasProjection = store.record.value!.sources.some(({ crs }) => crs !== null);
  return (
    <form class="fit-form" onSubmit={(event) => { event.preventDefault(); void deeds.fit(); }}>
      <label>rules <select value={values['rules']} onChange={set('rules')}>{RULES.map((name) => <option key={name} value={name}>{name.replaceAll('-', ' ')}</option>)}</select></label>
      <label>placed as <select value={values['style']} onChange={set('style')}>{Object.entries(STYLES).map(([name, words]) => <option key={name} value={name}>{words}</option>)}</select></label>
      <label>module, m <input value={values['module']} size={13} onInput={set('module')} /></label>
      {field('power-w', 'rated, W', 5)}
      {field('tilt', 'racks on level roofs, °', 4)}
      {field('need-kwh', 'need, kWh a year', 8)}
      {field('households', 'or households', 3)}
      {field('use-kwh', 'at kWh each', 6)}
      {!hasProjection && field('latitude', 'latitude, °', 7)}
      {!hasProjection && field('longitude', 'longitude, °', 7)}
      <label>irradiation by month, CSV <input type="file" accept=".csv,text/csv" onChange={(event) => { const file = event.currentTarget.files?.[0]; if (file) void deeds.openMonthly(file); }} /></label>
      {monthly.value && <span>{monthly.value.name} <button type="button" class="quiet" onClick={() => (monthly.value = null)}>Leave it out</button></span>}
      <label><input type="checkbox" checked={care.value} onChange={(event) => (careChosen.value = event.currentTarget.checked)} /> how sure, and what costs what</label>
      <button type="submit" class="deed">Place modules</button>
    </form>
  );
}
