import { Fragment } from 'preact';
import { sumOf } from '../reading/roof-area.ts';
import type { Building, Obstruction } from '../roof/record.ts';
import { isKnown } from '../units/measured.ts';
import { exampleLength } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';
import { BuildingStepper } from './building-stepper.tsx';
import { ActiveTools, takesTheSheet } from './active-tools.tsx';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import { acceptedIds, count, isUnsure } from './questions.ts';
import { GrowingRows } from './growing-rows.tsx';
import type { QuestionProps } from './question-body.tsx';
import { ReadingsTable } from './readings-table.tsx';
import { Hero, Reading } from './reading.tsx';
import { RefusedRow, SlipRow } from './rows.tsx';

/** Each has a row for every thing on it. */
const BUILDINGS_AT_ONCE = 8;

/** What is in the way: things and parapets, with height above the roof. */
export function WayQuestion({ answer }: QuestionProps) {
  const { store, actions } = useApp();
  const shown = store.building.value === null ? (store.record.value?.buildings ?? []) : store.currentBuilding.value ? [store.currentBuilding.value] : [];
  const things = shown.flatMap(({ obstructions }) => obstructions).filter(({ id }) => !store.refused.value.has(id));
  const accepted = acceptedIds(store.record.value!);
  const unsure = things.filter((thing) => isUnsure(thing) && !accepted.has(thing.id));
  const parapets = shown.reduce((sum, building) => sum + building.parapets.length, 0);
  const selected = store.selection.value?.kind === 'obstruction' ? store.selection.value.id : null;
  const name = selected ? store.names.value.get(selected) : undefined;
  const selectedAt = shown.findIndex(({ id }) => store.selection.value?.id.startsWith(`${id}.`) ?? false);
  const about = [`plan area of ${count(things.length, 'thing')} in the way`, unsure.length === 0 ? `none doubtful, ${count(parapets, 'parapet')}` : `${unsure.length} doubtful, ${count(parapets, 'parapet')}`];
  if (takesTheSheet(store)) return <div class="table-room"><ActiveTools /></div>;
  return (
    <>
      <Hero number={sumOf(things.map(({ planAreaM2 }) => planAreaM2))} dimension="area" state={answer.state} label="plan area of things in the way" about={about} />
      <BuildingStepper />
      <ActiveTools />
      <div class="table-room">
        <table>
          <thead><tr><th scope="col">what</th><th scope="col">kind</th><th scope="col" class="number">plan area</th><th scope="col" class="number">height above roof</th></tr></thead>
          <tbody>
            <GrowingRows items={shown} needed={selectedAt} columns={4} step={BUILDINGS_AT_ONCE} row={(building) => <ThingRows key={building.id} building={building} accepted={accepted} several={shown.length > 1} />} />
            <GrowingRows items={shown} needed={selectedAt} columns={4} step={BUILDINGS_AT_ONCE} row={(building) => <ParapetRows key={building.id} building={building} />} />
          </tbody>
        </table>
        <ReadingsTable />
        {things.length + parapets === 0 && <p class="say">Nothing was found that rises from this roof. What is smaller than about five point spacings may still be there.</p>}
      </div>
      <Deeds>
        {selected && name ? <Deed leading onClick={() => actions.decide('accept', selected, `accept ${name}`)}>Accept {name}</Deed> : <SignDeed question={3} state={answer.state} />}
        <Deed shortcut="M" onClick={() => actions.startMeasuring('height-above-roof')}>Measure a height</Deed>
        {!selected && <Deed onClick={() => actions.startMeasuring('outline')}>Draw one</Deed>}
        {!selected && <Deed quiet shortcut="W" onClick={() => actions.startCorrecting('parapet')}>Mark a parapet</Deed>}
        {selected && name && <Deed quiet shortcut="R" onClick={() => actions.startCorrecting('reshape')}>Draw its foot again</Deed>}
        {selected && name && <Deed quiet onClick={() => actions.decide('refuse', selected, `refuse ${name}`)}>Not there</Deed>}
      </Deeds>
    </>
  );
}

function ThingRows({ building, accepted, several }: { readonly building: Building; readonly accepted: ReadonlySet<string>; readonly several: boolean }) {
  const { store, actions } = useApp();
  return (
    <>
      {building.obstructions.map((thing) => {
        const part = { kind: 'obstruction', id: thing.id } as const;
        const name = store.names.value.get(thing.id)!;
        if (store.refused.value.has(thing.id)) return <RefusedRow key={thing.id} id={thing.id} name={name} columns={3} />;
        const isSelected = store.selection.value?.id === thing.id;
        const doubt = isUnsure(thing) && !accepted.has(thing.id);
        return (
          <Fragment key={thing.id}>
            <tr class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
              <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{name}</button></th>
              <td><span class={doubt ? 'rule doubtful' : ''}>{kindWords(thing, accepted)}{several ? `, ${building.id}` : ''}</span></td>
              <td class="number"><Reading number={thing.planAreaM2} dimension="area" label={`plan area of ${name}`} part={part} field="planAreaM2" /></td>
              <td class="number">
                {isSelected && !isKnown(thing.heightAboveRoofM) ? (
                  <input class="typed-height" aria-label={`height of ${name}`} placeholder={exampleLength(0.85, store.units.value)} size={8} onClick={(event) => event.stopPropagation()} onChange={(event) => actions.setThingHeight(building.id, thing.id, name, event.currentTarget.value)} />
                ) : <Reading number={thing.heightAboveRoofM} dimension="length" label={`height of ${name}`} part={part} field="heightAboveRoofM" />}
              </td>
            </tr>
            {isSelected && store.evidence.value?.startsWith(`${thing.id}:`) && <SlipRow columns={4} />}
          </Fragment>
        );
      })}
    </>
  );
}

function kindWords(thing: Obstruction, accepted: ReadonlySet<string>): string {
  const seen = thing.resolvability === 'resolved' ? '' : thing.resolvability === 'marginal' ? ', marginal' : ', too small';
  return `${thing.shape}${seen}${accepted.has(thing.id) ? ', accepted' : ''}`;
}

function ParapetRows({ building }: { readonly building: Building }) {
  const { store, actions } = useApp();
  return (
    <>
      {building.parapets.map((parapet) => {
        const part = { kind: 'parapet', id: parapet.id } as const;
        const name = store.names.value.get(parapet.id)!;
        const isSelected = store.selection.value?.id === parapet.id;
        return (
          <Fragment key={parapet.id}>
            <tr class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
              <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{name}</button></th>
              <td>parapet</td>
              {(['thicknessM', 'heightAboveRoofM'] as const).map((field) => {
                const word = field === 'thicknessM' ? 'thickness' : 'height';
                return (
                  <td key={field} class="number">
                    {isSelected && !isKnown(parapet[field]) ? (
                      <input class="typed-height" aria-label={`${word} of ${name}`} placeholder={`${field === 'thicknessM' ? 'thick' : 'high'}, ${exampleLength(0.3, store.units.value)}`} size={12} onClick={(event) => event.stopPropagation()} onChange={(event) => actions.setParapetSize(building.id, parapet.id, name, field, event.currentTarget.value)} />
                    ) : <Reading number={parapet[field]} dimension="length" label={`${word} of ${name}`} part={part} field={field} />}
                    {field === 'thicknessM' && isKnown(parapet[field]) ? ' thick' : ''}
                  </td>
                );
              })}
            </tr>
            {isSelected && store.evidence.value?.startsWith(`${parapet.id}:`) && <SlipRow columns={4} />}
          </Fragment>
        );
      })}
    </>
  );
}
