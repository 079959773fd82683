import { Fragment } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { sumOf } from '../reading/roof-area.ts';
import type { Building, EdgeKind } from '../roof/record.ts';
import { EDGE_LETTER } from '../roof/part-names.ts';
import type { Measured } from '../units/measured.ts';
import { shortLength } from '../units/unit-in-use.ts';
import { writeReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { BuildingStepper } from './building-stepper.tsx';
import { ActiveTools, takesTheSheet } from './active-tools.tsx';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import { SITE, TOTAL_FIELD } from './evidence.ts';
import { EvidenceSlip } from './evidence-slip.tsx';
import { count, planesOf, type Answer } from './questions.ts';
import { GrowingRows } from './growing-rows.tsx';
import { RefusedRow, SlipRow } from './rows.tsx';
import { ReadingsTable } from './readings-table.tsx';
import { passesFilter } from './site-state.ts';
import { Statements } from './statements-dialog.tsx';
import { Digits, Hero, Reading } from './reading.tsx';

/** What is the roof: planes and edges of one building, with everything measured by hand. */
export function RoofQuestion({ answer }: { readonly answer: Answer }) {
  const { store, actions } = useApp();
  const building = store.building.value === null && (store.record.value?.buildings.length ?? 0) > 1 ? null : store.currentBuilding.value;
  const selected = store.selection.value;
  const name = selected ? store.names.value.get(selected.id) : undefined;
  if (store.record.value?.buildings.length === 0) return <NoRoof />;
  if (takesTheSheet(store)) return <div class="table-room"><ActiveTools /></div>;
  const refusable = selected && (selected.kind === 'plane' || selected.kind === 'edge');
  return (
    <>
      {building ? <BuildingHero building={building} answer={answer} /> : <SiteHero answer={answer} />}
      <BuildingStepper />
      <ActiveTools />
      {store.tool.value !== 'correct' && <div class="table-room">
        {store.evidence.value === totalKey(building) && <EvidenceSlip />}
        {building ? <PlaneTable building={building} /> : <BuildingTable />}
        {building && <EdgeTable building={building} />}
        <ReadingsTable />
      </div>}
      <Deeds>
        <SignDeed question={2} state={answer.state} />
        <Deed shortcut="M" onClick={() => actions.startMeasuring('distance')}>Measure</Deed>
        <Deed shortcut="C" onClick={() => actions.startCorrecting('move-corner')}>Correct</Deed>
        {!refusable && <Deed quiet shortcut="L" onClick={() => actions.drawSection()}>Cut</Deed>}
        {refusable && <Deed quiet onClick={() => actions.decide('refuse', selected.id, `refuse ${name}`)}>Refuse {name}</Deed>}
      </Deeds>
    </>
  );
}

/** Nothing was found: what may be the reason, and what can be done. */
function NoRoof() {
  const { store } = useApp();
  const { pointSpacingM } = store.record.value!.sampling;
  return (
    <>
      <p class="say"><span class="rule doubtful"><b>No roof plane was found.</b></span></p>
      <p class="say">Points lie {shortLength(pointSpacingM, store.units.value)} apart. A roof plane needs some twenty points on one flat surface that stands clear of the ground.</p>
      <p class="say">{store.points.value ? <>If the file is in another unit, or lies on its side: <Statements words="State what the files do not say" quiet />.</> : 'Open the files it was made from, and state what they do not say.'}</p>
    </>
  );
}

/** Evidence of the large number: of one building, or of the site. */
const totalKey = (building: Building | null): string => `${building?.id ?? SITE}:${TOTAL_FIELD}`;

function BuildingHero({ building, answer }: { readonly building: Building; readonly answer: Answer }) {
  const { store } = useApp();
  const { planes, total } = planesOf(building, store.refused.value);
  const unknown = building.edges.filter(({ kind }) => kind === 'unknown').length;
  const edges = `${count(building.edges.length, 'edge')}, ${unknown === 0 ? 'all kinds known' : `${unknown} of unknown kind`}`;
  return <Hero number={total} dimension="area" state={answer.state} label="slope area" evidence={totalKey(building)} about={[`slope area of ${count(planes.length, 'roof plane')}`, edges]} />;
}

function SiteHero({ answer }: { readonly answer: Answer }) {
  const { store } = useApp();
  const buildings = store.record.value?.buildings ?? [];
  const holding = buildings.map((building) => planesOf(building, store.refused.value)).filter(({ planes }) => planes.length > 0);
  const planes = holding.flatMap((one) => one.planes);
  return <Hero number={sumOf(holding.map(({ total }) => total))} dimension="area" state={answer.state} label="slope area of the site" evidence={totalKey(null)} about={[`slope area of ${count(planes.length, 'roof plane')}`, `on ${count(buildings.length, 'building')}`]} />;
}

/** Every building with where it stands, and what the site adds up to. */
function BuildingTable() {
  const { store, actions } = useApp();
  const buildings = store.record.value?.buildings ?? [];
  const filter = store.siteFilter.value;
  const states = new Map(store.sites.value.map((state) => [state.id, state]));
  const shown = buildings.filter(({ id }) => passesFilter(states.get(id)!, filter));
  const planes = shown.map((building) => planesOf(building, store.refused.value));
  const things = (building: Building): number => building.obstructions.filter(({ id }) => !store.refused.value.has(id)).length;
  const signed = shown.filter(({ id }) => states.get(id)!.signed !== null).length;
  return (
    <table class="site">
      <thead><tr><th scope="col">building</th><th scope="col">stands</th><th scope="col" class="number">planes</th><th scope="col" class="number">things</th><th scope="col" class="number">slope area</th></tr></thead>
      <tbody>
        <GrowingRows items={shown} needed={-1} columns={5} row={(building, i) => {
          const { worst, doubts, signed: by } = states.get(building.id)!;
          return (
            <tr key={building.id}>
              <th scope="row"><button type="button" class="row-name" onClick={() => actions.showBuilding(building.id)}>{building.id}</button></th>
              <td><span class={`rule ${by ? 'signed' : worst}`}>{by ? `signed ${by}` : doubts.length > 0 ? `doubtful in ${doubts.join(', ')}` : worst}</span></td>
              <td class="number">{planes[i]!.planes.length}</td>
              <td class="number">{things(building)}</td>
              <td class="number"><Sum number={planes[i]!.total} /></td>
            </tr>
          );
        }} />
      </tbody>
      {shown.length > 1 && (
        <tfoot>
          <tr>
            <th scope="row">{filter === 'all' ? 'site' : `${shown.length} of ${buildings.length}`}</th>
            <td>{signed} of {shown.length} signed</td>
            <td class="number">{planes.reduce((sum, one) => sum + one.planes.length, 0)}</td>
            <td class="number">{shown.reduce((sum, building) => sum + things(building), 0)}</td>
            <td class="number"><Sum number={sumOf(planes.filter((one) => one.planes.length > 0).map(({ total }) => total))} /></td>
          </tr>
        </tfoot>
      )}
      {shown.length === 0 && <caption>No building is {filter}.</caption>}
    </table>
  );
}

function Sum({ number }: { readonly number: Measured }) {
  const { store } = useApp();
  const written = writeReading(number, 'area', store.units.value);
  return written ? <Digits written={written} /> : <span class="reason">{number.value === null ? number.why : ''}</span>;
}

function PlaneTable({ building }: { readonly building: Building }) {
  const { store, actions } = useApp();
  const names = store.names.value;
  return (
    <table>
      <thead><tr><th scope="col">plane</th><th scope="col" class="number">pitch</th><th scope="col" class="number wide-only">azimuth, {store.north.value}</th><th scope="col" class="number">slope area</th></tr></thead>
      <tbody>
        {building.roofPlanes.map((plane) => {
          const part = { kind: 'plane', id: plane.id } as const;
          const name = names.get(plane.id)!;
          const isSelected = store.selection.value?.id === plane.id;
          if (store.refused.value.has(plane.id)) return <RefusedRow key={plane.id} id={plane.id} name={name} columns={3} />;
          return (
            <Fragment key={plane.id}>
              <tr class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
                <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{name}</button></th>
                <td class="number"><Reading number={plane.pitchDeg} dimension="pitch" label={`pitch of ${name}`} part={part} field="pitchDeg" /></td>
                <td class="number wide-only"><Reading number={plane.azimuthDeg} dimension="bearing" label={`azimuth of ${name}`} part={part} field="azimuthDeg" /></td>
                <td class="number"><Reading number={plane.slopeAreaM2} dimension="area" label={`slope area of ${name}`} part={part} field="slopeAreaM2" /></td>
              </tr>
              {isSelected && store.evidence.value?.startsWith(`${plane.id}:`) && <SlipRow columns={4} />}
            </Fragment>
          );
        })}
      </tbody>
    </table>
  );
}

const KINDS = Object.keys(EDGE_LETTER) as EdgeKind[];

function EdgeTable({ building }: { readonly building: Building }) {
  const { store, actions } = useApp();
  const names = store.names.value;
  const hasSelected = building.edges.some(({ id }) => id === store.selection.value?.id);
  // Rows are made once they are wanted: most buildings are only walked past.
  const [isOpen, setOpen] = useState(hasSelected);
  useEffect(() => setOpen(hasSelected), [hasSelected, building.id]);
  return (
    <details class="more" open={isOpen} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{count(building.edges.length, 'edge')}, with slope length and kind</summary>
      <table>
        <thead><tr><th scope="col">edge</th><th scope="col">kind</th><th scope="col" class="wide-only">joins</th><th scope="col" class="number">slope length</th></tr></thead>
        <tbody>
          {isOpen && building.edges.map((edge) => {
            const part = { kind: 'edge', id: edge.id } as const;
            const name = names.get(edge.id)!;
            const isSelected = store.selection.value?.id === edge.id;
            if (store.refused.value.has(edge.id)) return <RefusedRow key={edge.id} id={edge.id} name={name} columns={3} />;
            return (
              <Fragment key={edge.id}>
                <tr class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
                  <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{name}</button></th>
                  <td>
                    {isSelected ? (
                      <select aria-label={`kind of ${name}`} value={edge.kind} onChange={(event) => actions.setEdgeKind(edge.id, name, edge.kind, event.currentTarget.value as EdgeKind)}>
                        {KINDS.map((kind) => <option key={kind} value={kind}>{kind}</option>)}
                      </select>
                    ) : edge.kind}
                  </td>
                  <td class="wide-only">{edge.planes.map((id) => names.get(id) ?? id).join(', ')}</td>
                  <td class="number"><Reading number={edge.slopeLengthM} dimension="length" label={`slope length of ${name}`} part={part} field="slopeLengthM" /></td>
                </tr>
                {isSelected && store.evidence.value?.startsWith(`${edge.id}:`) && <SlipRow columns={4} />}
              </Fragment>
            );
          })}
        </tbody>
      </table>
    </details>
  );
}
