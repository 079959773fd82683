import type { ModuleLayout, Usable } from '../roof/record.ts';
import { isKnown } from '../units/measured.ts';
import { plainReading, writeCount, writeReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { Deeds, SignDeed } from './deeds.tsx';
import { FitForm } from './fit-form.tsx';
import { GrowingRows } from './growing-rows.tsx';
import { HandTools } from './hand-tools.tsx';
import type { QuestionProps } from './question-body.tsx';
import { count } from './questions.ts';
import { Digits, Hero } from './reading.tsx';
import { ShadeTools } from './shade-tools.tsx';

/** What fits: usable area and module places under stated rules, against the need. */
export function FitsQuestion({ answer }: QuestionProps) {
  const { store } = useApp();
  const { usable, layout } = store.record.value!;
  return (
    <>
      {layout ? <ModuleHero state={answer.state} /> : usable ? <Hero number={usable.totalM2} dimension="area" state={answer.state} label="usable area" about={['usable slope area']} /> : (
        <p class="say">Choose rules and a module. Zones round edges and things are kept clear, and modules placed in what is left, each plane for itself.</p>
      )}
      {store.fitting.stale.value > 0 && <p class="say" role="status">The roof changed since modules were placed on {count(store.fitting.stale.value, 'building')}. Place modules again.</p>}
      {layout ? <CountSlip /> : <FitForm />}
      <ShadeTools />
      {layout && <HandTools />}
      {layout?.costs && <CostTable />}
      {layout && <ChangedSince />}
      {usable && <UsableTable />}
      {layout && <FitForm />}
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
          <span>at most {writeCount(layout.upperBound)} could fit under these rules{layout.upperBound > layout.count ? `, ${writeCount(layout.upperBound - layout.count)} more` : ''}</span>
          <span>{layout.ratedPowerKw.toFixed(1)} kW rated{layout.sensitivity ? `; in 95 % of draws ${rangeWords(layout.sensitivity.range)}` : ''}</span>
        </span>
      </div>
      <p class="say">
        {energy ? <><Digits written={energy} /> kWh a year.</> : isKnown(layout.yearlyEnergyKwh) ? '' : layout.yearlyEnergyKwh.why}
        {met && layout.needKwh !== null && <> Meets {plainReading(met, 'plain')} % of {writeCount(layout.needKwh)} kWh.</>}
        {met && layout.need && isKnown(layout.need.modules) && <> All of it would take {plainReading(layout.need.modules, 'plain')} modules, {plainReading(layout.need.moduleAreaM2, 'area', store.units.value)}.</>}
        {met && layout.needKwh ? ` ${needByBuilding(layout, layout.needKwh, store.building.value)}` : ''}
      </p>
    </>
  );
}

/** Share of the need each roof meets, most first: the chosen one, or the first of all. */
function needByBuilding({ buildings = [] }: ModuleLayout, needKwh: number, chosen: string | null): string {
  if (buildings.length < 2) return '';
  const shares = buildings.flatMap(({ id, yearlyEnergyKwh }) => (isKnown(yearlyEnergyKwh) && yearlyEnergyKwh.value > 0 && (chosen === null || chosen === id) ? [{ id, share: yearlyEnergyKwh.value / needKwh }] : []));
  const first = shares.toSorted((a, b) => b.share - a.share).slice(0, NEED_ROOFS).map(({ id, share }) => `${id} ${Math.round(100 * share)} %`);
  return first.length > 0 ? `By roof: ${first.join(', ')}${shares.length > NEED_ROOFS ? `, and ${shares.length - NEED_ROOFS} more` : ''}.` : '';
}
const NEED_ROOFS = 6;

const rangeWords = ([from, to]: readonly [number, number]): string => (from === to ? String(from) : `${from} to ${to}`);

/** How sure the count is, building by building, with the edge that decides it by its name on the sheet. */
function CountSlip() {
  const { store, actions } = useApp();
  const { layout, buildings } = store.record.value!;
  const shown = (layout!.buildings ?? []).filter(({ id, sensitivity, count }) => sensitivity && (store.building.value === id || (store.building.value === null && count > 0)));
  if (shown.length === 0) return null;
  return (
    <ul class="count-slip">
      {shown.slice(0, 6).map(({ id, sensitivity }) => {
        const decides = sensitivity!.decidedBy;
        const name = decides === null ? null : (store.names.value.get(decides) ?? decides);
        const isThing = buildings.some(({ obstructions }) => obstructions.some((one) => one.id === decides));
        return (
          <li key={id}>{buildings.length > 1 ? `${id}: ` : ''}{name ? sensitivity!.says.replace(decides!, name) : sensitivity!.says}.
            {decides && store.names.value.has(decides) && <> <button type="button" class="quiet" onClick={() => actions.showPart({ kind: isThing ? 'obstruction' : 'edge', id: decides })}>Show {name}</button></>}
          </li>
        );
      })}
    </ul>
  );
}

/** Things in the way by what they cost, dearest first. */
function CostTable() {
  const { store, actions } = useApp();
  const { layout, buildings } = store.record.value!;
  const inView = new Set(store.building.value === null ? [] : buildings.find(({ id }) => id === store.building.value)?.obstructions.map(({ id }) => id));
  const rows = layout!.costs!.filter(({ obstruction, modules, yearlyEnergyKwh }) => (inView.size === 0 || inView.has(obstruction)) && (modules > 0 || (isKnown(yearlyEnergyKwh) && yearlyEnergyKwh.value >= 1)));
  // Of a building that changed nothing is known any more.
  const isUnknown = layout!.changedSince?.some((id) => store.building.value === null || id === store.building.value) ?? false;
  if (rows.length === 0) return isUnknown ? null : <p class="say">No thing in the way costs a module here.</p>;
  return (
    <table>
      <thead><tr><th scope="col">what costs what</th><th scope="col" class="number">modules lost</th><th scope="col" class="number">kWh a year</th></tr></thead>
      <tbody>
        {rows.slice(0, 8).map(({ obstruction, modules, yearlyEnergyKwh }) => (
          <tr key={obstruction}>
            <th scope="row"><button type="button" class="row-name" onClick={() => actions.showPart({ kind: 'obstruction', id: obstruction })}>{store.names.value.get(obstruction) ?? obstruction}</button></th>
            <td class="number">{modules}</td>
            <td class="number">{!isKnown(yearlyEnergyKwh) ? yearlyEnergyKwh.why : yearlyEnergyKwh.value === 0 && yearlyEnergyKwh.u95 === 0 ? 'none' : plainReading(yearlyEnergyKwh, 'plain')}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What a change by hand or to the roof left without an answer. */
function ChangedSince() {
  const { store } = useApp();
  const changed = store.record.value!.layout!.changedSince?.filter((id) => store.building.value === null || id === store.building.value) ?? [];
  if (changed.length === 0) return null;
  const of = store.record.value!.buildings.length > 1 ? ` of ${changed.length > 4 ? `${changed.length} buildings` : changed.join(', ')}` : '';
  return <p class="say" role="status"><b>Changed since.</b> The modules{of} are up to date. How sure their count is, and what costs what there, is worked out when modules are placed again.</p>;
}

const OTHER_WORDS = [['tooSteep', 'too steep'], ['facingAway', 'facing away'], ['unknownHeight', 'height unknown'], ['beneath', 'under a roof'], ['tooSmall', 'too small']] as const;
/** Losses below this are not told. [m²] */
const LEAST_TOLD = 0.05;

const otherWords = (lost: Usable['planes'][number]['otherM2']): string =>
  OTHER_WORDS.flatMap(([reason, words]) => (lost && lost[reason] >= LEAST_TOLD ? [`${lost[reason].toFixed(1)} ${words}`] : [])).join(', ');

function UsableTable() {
  const { store, actions } = useApp();
  const { usable, layout, keepClear } = store.record.value!;
  const planesShown = new Set(store.currentBuilding.value?.roofPlanes.map(({ id }) => id));
  const shown = usable!.planes.filter(({ id }) => store.building.value === null || planesShown.has(id));
  const counts = new Map<string, number>();
  for (const { plane } of layout?.modules ?? []) counts.set(plane, (counts.get(plane) ?? 0) + 1);
  return (
    <div class="table-room">
      <table>
        <thead><tr><th scope="col">plane</th><th scope="col" class="number">modules</th><th scope="col" class="number">usable</th><th scope="col" class="number">edges cost, m²</th><th scope="col" class="number">ways cost, m²</th><th scope="col" class="number">things cost, m²</th><th scope="col" class="number">shade costs, m²</th><th scope="col">other, m²</th></tr></thead>
        <tbody>
          <GrowingRows items={shown} needed={shown.findIndex(({ id }) => id === store.selection.value?.id)} columns={8} row={({ id, usableSlopeAreaM2, lostM2, otherM2 }) => (
            <tr key={id} class={store.selection.value?.id === id ? 'selected' : ''}>
              <th scope="row"><button type="button" class="row-name" onClick={() => (store.selection.value = { kind: 'plane', id })}>{store.names.value.get(id) ?? id}</button>{planeBuilding(id)}</th>
              <td class="number">{layout ? (counts.get(id) ?? 0) : ''}</td>
              <td class="number">{usableSlopeAreaM2.value === 0 ? 'none' : plainReading(usableSlopeAreaM2, 'area', store.units.value)}</td>
              <td class="number">{lostM2.edge.toFixed(1)}</td>
              <td class="number">{lostM2.access.toFixed(1)}</td>
              <td class="number">{lostM2.obstruction.toFixed(1)}</td>
              <td class="number">{lostM2.shade.toFixed(1)}</td>
              <td>{otherWords(otherM2)}</td>
            </tr>
          )} />
        </tbody>
      </table>
      {keepClear && <p class="say"><b>{keepClear.ruleSet.name}</b>, {keepClear.ruleSet.source}</p>}
      {layout?.assumptions && <details class="say"><summary>What the energy rests on</summary>{layout.assumptions.map((sentence) => <p key={sentence}>{sentence}</p>)}</details>}
      {layout && <button type="button" class="quiet" onClick={() => actions.showView('plan')}>See them in plan</button>}
    </div>
  );

  function planeBuilding(id: string): string {
    const buildings = store.record.value!.buildings;
    return buildings.length > 1 ? ` ${buildings.find(({ roofPlanes }) => roofPlanes.some((plane) => plane.id === id))?.id ?? ''}` : '';
  }
}
