import { useState } from 'preact/hooks';
import { SHIPPED_RULES } from '../layout/shipped-rules.ts';
import { USUAL_MODULE } from '../layout/module-spec.ts';
import { isKnown } from '../units/measured.ts';
import { plainReading, writeCount, writeReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { Deeds, SignDeed } from './deeds.tsx';
import type { QuestionProps } from './question-body.tsx';
import { Digits, Hero } from './reading.tsx';

/** What fits: usable area and module places under stated rules, against the need. */
export function FitsQuestion({ answer }: QuestionProps) {
  const { store } = useApp();
  const { usable, layout } = store.record.value!;
  return (
    <>
      {layout ? <ModuleHero state={answer.state} /> : usable ? <Hero number={usable.totalM2} dimension="area" state={answer.state} label="usable area" about={['usable slope area']} /> : (
        <p class="say">Choose rules and a module. Zones round edges and things are kept clear, and modules placed in what is left, each plane for itself.</p>
      )}
      {usable && <UsableTable />}
      <FitForm />
      <p class="caution">Local code and a licensed person decide setbacks, fire access, load and wiring. The rules here are examples.</p>
      <Deeds><SignDeed question={6} state={answer.state} leading={layout !== null} /></Deeds>
    </>
  );
}

function ModuleHero({ state }: { readonly state: string }) {
  const { store } = useApp();
  const layout = store.record.value!.layout!;
  const energy = writeReading(layout.yearlyEnergyKwh, 'plain');
  const met = layout.need && isKnown(layout.need.metShare) ? { ...layout.need.metShare, value: layout.need.metShare.value * 100, u95: layout.need.metShare.u95 * 100 } : null;
  return (
    <>
      <div class="hero">
        <span class={`hero-number rule ${state}`}><span class="digits"><b>{writeCount(layout.count)}</b><span class="unit"> modules</span></span></span>
        <span class="hero-about">
          <span>at most {writeCount(layout.upperBound)} could fit under these rules</span>
          <span>{layout.ratedPowerKw.toFixed(1)} kW rated{layout.sensitivity ? `; in 95 % of draws ${layout.sensitivity.range.join(' to ')}` : ''}</span>
        </span>
      </div>
      <p class="say">
        {energy ? <><Digits written={energy} /> kWh a year before losses you set.</> : isKnown(layout.yearlyEnergyKwh) ? '' : layout.yearlyEnergyKwh.why}
        {met && layout.needKwh !== null && <> Meets {plainReading(met, 'plain')} % of {writeCount(layout.needKwh)} kWh.</>}
      </p>
    </>
  );
}

function UsableTable() {
  const { store, actions } = useApp();
  const { usable, layout, keepClear } = store.record.value!;
  const planesShown = new Set(store.currentBuilding.value?.roofPlanes.map(({ id }) => id));
  return (
    <div class="table-room">
      <table>
        <thead><tr><th scope="col">plane</th><th scope="col" class="number">modules</th><th scope="col" class="number">usable</th><th scope="col" class="number">edges cost</th><th scope="col" class="number">things cost</th></tr></thead>
        <tbody>
          {usable!.planes.filter(({ id }) => store.building.value === null || planesShown.has(id)).map(({ id, usableSlopeAreaM2, lostM2 }) => (
            <tr key={id} class={store.selection.value?.id === id ? 'selected' : ''}>
              <th scope="row"><button type="button" class="row-name" onClick={() => (store.selection.value = { kind: 'plane', id })}>{store.names.value.get(id) ?? id}</button>{planeBuilding(id)}</th>
              <td class="number">{layout?.modules.filter(({ plane }) => plane === id).length ?? ''}</td>
              <td class="number">{usableSlopeAreaM2.value === 0 ? 'none' : plainReading(usableSlopeAreaM2, 'area', store.units.value)}</td>
              <td class="number">{(lostM2.edge + lostM2.access).toFixed(1)} m²</td>
              <td class="number">{lostM2.obstruction.toFixed(1)} m²</td>
            </tr>
          ))}
        </tbody>
      </table>
      {keepClear && <p class="say"><b>{keepClear.ruleSet.name}</b>, {keepClear.ruleSet.source}</p>}
      {layout?.assumptions?.map((sentence) => <p key={sentence} class="say">{sentence}</p>)}
      {layout && <button type="button" class="quiet" onClick={() => actions.showView('plan')}>See them in plan</button>}
    </div>
  );

  function planeBuilding(id: string): string {
    const buildings = store.record.value!.buildings;
    return buildings.length > 1 ? ` ${buildings.find(({ roofPlanes }) => roofPlanes.some((plane) => plane.id === id))?.id ?? ''}` : '';
  }
}

const RULES = Object.keys(SHIPPED_RULES);
const STYLES = { rows: 'rows that shift for themselves', aligned: 'one even grid', most: 'as many as can be' } as const;

/** Rules, module and need; they stand as the person left them. */
function FitForm() {
  const { actions } = useApp();
  const [values, setValues] = useState<Record<string, string>>({ rules: RULES[0]!, module: `${USUAL_MODULE.widthM} x ${USUAL_MODULE.heightM}`, style: 'rows', 'power-w': String(USUAL_MODULE.ratedPowerW), 'need-kwh': '' });
  const set = (name: string) => (event: { currentTarget: { value: string } }) => setValues({ ...values, [name]: event.currentTarget.value });
  const flags = Object.fromEntries(Object.entries(values).filter(([, value]) => value.trim() !== ''));
  return (
    <form class="fit-form" onSubmit={(event) => { event.preventDefault(); void actions.fit(flags); }}>
      <label>rules <select value={values['rules']} onChange={set('rules')}>{RULES.map((name) => <option key={name} value={name}>{name.replaceAll('-', ' ')}</option>)}</select></label>
      <label>placed as <select value={values['style']} onChange={set('style')}>{Object.entries(STYLES).map(([name, words]) => <option key={name} value={name}>{words}</option>)}</select></label>
      <label>module, m <input value={values['module']} size={13} onInput={set('module')} /></label>
      <label>rated, W <input value={values['power-w']} size={5} inputMode="decimal" onInput={set('power-w')} /></label>
      <label>need, kWh a year <input value={values['need-kwh']} size={8} inputMode="decimal" onInput={set('need-kwh')} /></label>
      <button type="submit" class="deed">Place modules</button>
    </form>
  );
}
