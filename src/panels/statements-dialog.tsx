import { useId, useRef, useState } from 'preact/hooks';
import { DEFAULT_ASSUMPTIONS } from '../reading/assumptions.ts';
import { InputError } from '../units/input-error.ts';
import { useApp } from './app-context.ts';
import { formOf, optionsOf, type StatementsForm } from './statements-form.ts';

type TextField = Exclude<keyof StatementsForm, 'salvage'>;

/** What no file tells of itself, or tells wrongly: stated by a person, and the files are surveyed again with it. */
export function Statements({ words, quiet = false }: { readonly words: string; readonly quiet?: boolean }) {
  const { actions } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  const [form, setForm] = useState<StatementsForm>(formOf({}));
  const [fault, setFault] = useState('');
  const title = useId();
  const open = (): void => {
    setForm(formOf(actions.statedOptions()));
    setFault('');
    dialog.current?.showModal();
  };
  const survey = (event: SubmitEvent): void => {
    event.preventDefault();
    try {
      const options = optionsOf(form, actions.statedOptions());
      dialog.current?.close();
      void actions.surveyAgain(options);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      setFault(error.message);
    }
  };
  const text = (field: TextField, label: string, unit: string, usual = '') => (
    <label>
      {label}
      <span class="with-unit">
        <input value={form[field]} placeholder={usual} size={9} onInput={(event) => setForm({ ...form, [field]: event.currentTarget.value })} /> {unit}
      </span>
    </label>
  );
  const choice = (field: TextField, label: string, options: readonly (readonly [string, string])[]) => (
    <label>
      {label}
      <select value={form[field]} onChange={(event) => setForm({ ...form, [field]: event.currentTarget.value })}>
        {options.map(([value, name]) => <option key={value} value={value}>{name}</option>)}
      </select>
    </label>
  );
  return (
    <>
      <button type="button" class={quiet ? 'quiet' : 'deed'} aria-haspopup="dialog" onClick={open}>{words}</button>
      <dialog ref={dialog} class="small-dialog wide statements" aria-labelledby={title}>
        <form onSubmit={survey}>
          <h2 id={title}>What the files do not say</h2>
          <p class="say">What you state here stands against what the files say of themselves. The files are surveyed again, as a survey of its own.</p>
          <fieldset>
            <legend>Coordinates</legend>
            {choice('unit', 'unit', [['', 'as the files say'], ['m', 'metres'], ['ft', 'international feet'], ['us-ft', 'US survey feet']])}
            {text('crs', 'projection', '', 'EPSG:25832')}
            {choice('up', 'axis that points up', [['', 'by the format'], ['z', 'z'], ['y', 'y']])}
          </fieldset>
          <fieldset>
            <legend>How well it was controlled, 95 %</legend>
            {text('tiltDeg', 'level to', '°', String(DEFAULT_ASSUMPTIONS.tiltDeg))}
            {text('scaleMmPerM', 'lengths true to', 'mm per m', String(1000 * DEFAULT_ASSUMPTIONS.scale))}
            {text('northDeg', 'north to', '°', String(DEFAULT_ASSUMPTIONS.northDeg))}
            <p class="say">From the report on your ground control or the receiver. Each stands in every number as a part of its own. Zero of heights and place on the map are the files’ own: checkpoints under question 5 show how far they are off, and move the model.</p>
          </fieldset>
          <fieldset>
            <legend>Images and meshes</legend>
            {text('gsdCm', 'ground sample distance', 'cm a pixel')}
            {text('meshSpacingCm', 'points on a mesh, apart', 'cm', 'chosen')}
            <label class="check">
              <input type="checkbox" checked={form.salvage} onChange={(event) => setForm({ ...form, salvage: event.currentTarget.checked })} />
              read what is there when a file was cut off
            </label>
          </fieldset>
          {fault !== '' && <p class="say" role="alert"><b>{fault}</b></p>}
          <div class="deeds">
            <button type="submit" class="deed leading">Survey again</button>
            <button type="button" class="quiet" onClick={() => dialog.current?.close()}>Leave it</button>
          </div>
        </form>
      </dialog>
    </>
  );
}
