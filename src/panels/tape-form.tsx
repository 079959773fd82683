import { useState } from 'preact/hooks';
import { TAPE_DEVICES, type TapeDevice } from '../site/tape-device.ts';
import { exampleLength, lengthUnit, toldLength } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';
import { PLAIN_USE, tapeables, tapeReadingsOf, type NotedCondition, type TypedUse } from './fields.ts';

/** Readings that were typed before anybody showed where they were taken. */
export function OpenReadings() {
  const { store, actions } = useApp();
  const open = tapeReadingsOf(store.history.value).filter(({ kind, ends }) => kind !== 'checkpoint' && ends.length < (kind === 'pitch' || kind === 'height-above-roof' ? 1 : 2));
  if (open.length === 0) return null;
  const placing = store.tool.value === 'measure' ? actions.placing.value : null;
  const picks = store.measure.value.name === 'picking' ? store.measure.value.picks.length : 0;
  return (
    <div class="slip">
      <p class="say"><b>{open.length} {open.length === 1 ? 'reading waits' : 'readings wait'} for a place.</b> Show where each was taken in the drawing.</p>
      <table class="parts">
        <tbody>
          {open.map(({ id, kind, value, written, note }) => (
            <tr key={id}>
              <th scope="row">{id}</th>
              <td>{kind.replaceAll('-', ' ')} {kind === 'pitch' ? `${value}°` : `${toldLength(value!, store.units.value)}${written ? ` (${written})` : ''}`}{note ? `, ${note}` : ''}</td>
              <td class="number">
                {placing === id
                  ? <><span>{picks} of {kind === 'pitch' || kind === 'height-above-roof' ? 1 : 2} shown</span> <button type="button" class="quiet" onClick={() => actions.measure({ kind: 'cancel' })}>Later</button></>
                  : <button type="button" class="quiet" onClick={() => actions.showTapePlace(id)}>Show where</button>}
                {' '}
                <button type="button" class="quiet" aria-label={`Remove tape ${id}`} onClick={() => actions.removeTape(id)}>Remove</button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** Enters one reading: what was taped, what the tape said, and with what. */
export function TapeForm() {
  const { store, actions } = useApp();
  const record = store.record.value!;
  const suggested = record.tape?.next[0]?.edge;
  // Of a site only one building's parts are offered: nobody finds an edge in a list of thousands.
  const on = store.building.value ?? record.buildings.find(({ id }) => suggested?.startsWith(`${id}.`))?.id ?? record.buildings[0]?.id ?? null;
  const choices = tapeables(record, store.names.value, on);
  const [chosen, setChosen] = useState<string | null>(null);
  const [text, setText] = useState('');
  const [use, setUse] = useState<TypedUse>(PLAIN_USE);
  const picked = store.selection.value?.id;
  const key = chosen ?? [picked, suggested].find((id) => choices.some((choice) => choice.key === id)) ?? choices[0]!.key;
  const what = choices.find((choice) => choice.key === key) ?? choices[0]!;
  const isPitch = what.kind === 'pitch';
  const note = (field: NotedCondition, word: string, unit: string, usual = '') => (
    <label>{word} <input value={use.noted[field] ?? ''} inputMode="decimal" placeholder={usual} size={4} onInput={(event) => setUse({ ...use, noted: { ...use.noted, [field]: event.currentTarget.value } })} /> {unit}</label>
  );
  const devices = TAPE_DEVICES.filter(({ device }) => (device === 'inclinometer') === isPitch && device !== 'receiver' && device !== 'total-station');
  return (
    <form
      class="tape-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (text.trim() === '') return;
        if (!actions.enterTape(what, text, use)) return;
        setText('');
        setChosen(null);
        // Where the next tape lies is another slope.
        setUse({ ...use, noted: { ...use.noted, riseM: '' } });
      }}
    >
      {record.buildings.length > 1 && (
        <label>on <select aria-label="Building that was taped" value={on ?? ''} onChange={(event) => actions.showBuilding(event.currentTarget.value)}>{record.buildings.map(({ id }) => <option key={id} value={id}>building {id}</option>)}</select></label>
      )}
      <label>taped <select value={what.key} onChange={(event) => setChosen(event.currentTarget.value)}>{choices.map((choice) => <option key={choice.key} value={choice.key}>{choice.name}</option>)}</select></label>
      <label>the {isPitch ? 'inclinometer' : 'tape'} said <input value={text} placeholder={isPitch ? '31.5°' : exampleLength(7.42, store.units.value)} size={9} onInput={(event) => setText(event.currentTarget.value)} /></label>
      <label>with <select value={use.device ?? ''} onChange={(event) => setUse({ ...use, device: (event.currentTarget.value || null) as TapeDevice | null })}>
        <option value="">no class noted</option>
        {devices.map(({ device, title }) => <option key={device} value={device}>{title}</option>)}
      </select></label>
      {what.kind === 'distance' && <label>held <select value={use.held} onChange={(event) => setUse({ ...use, held: event.currentTarget.value as TypedUse['held'] })}><option value="slope">along the slope</option><option value="level">level</option></select></label>}
      {!isPitch && note('temperatureC', 'tape at', '°C', '20')}
      {what.kind === 'distance' && (
        <details class="more">
          <summary>Slope, pull and sag</summary>
          <div class="tape-form">
            {note('riseM', 'rises', lengthUnit(store.units.value).word)}{note('tensionN', 'pull', 'N', '50')}{note('sectionMm2', 'section', 'mm²')}{note('spanM', 'free span', lengthUnit(store.units.value).word)}{note('massKgPerM', 'tape weighs', 'kg/m')}
            <span class="say">A rise reduces the length to level. Pull needs the section of the tape; sag needs pull, free span and weight.</span>
          </div>
        </details>
      )}
      <button type="submit" class="deed">Enter it</button>
    </form>
  );
}
