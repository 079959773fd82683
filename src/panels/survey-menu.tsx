import { useRef, useState } from 'preact/hooks';
import { useApp } from './app-context.ts';
import { FileChooser } from './file-chooser.tsx';
import type { KeptRow } from './keeping.ts';

/** No undo brings back a survey that was forgotten, so it is asked once more. */
function Doubt({ name, onKeep, onForget }: { readonly name: string; readonly onKeep: () => void; readonly onForget: () => void }) {
  return (
    <span role="group" aria-label={`Forget ${name} with its points? No undo brings it back.`}>
      <span class="when">with its points, for good? </span>
      <button type="button" class="quiet" onClick={onForget}>Forget it</button>{' '}
      <button type="button" class="quiet" ref={(button) => button?.focus()} onClick={onKeep}>Keep it</button>
    </span>
  );
}

const timeOf = (iso: string): string => new Date(iso).toLocaleString('en-GB', { day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit' });

/** The survey's name; opens others that are kept here, files, or the sample. */
export function SurveyMenu() {
  const { store, actions } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  const [kept, setKept] = useState<readonly KeptRow[]>([]);
  const [asked, setAsked] = useState<string | null>(null);
  const refresh = async (): Promise<void> => setKept(await actions.keptSurveys());
  const close = (): void => dialog.current?.close();
  return (
    <>
      <button
        type="button"
        class="cell menu survey"
        aria-haspopup="dialog"
        onClick={() => {
          void refresh();
          setAsked(null);
          dialog.current?.showModal();
        }}
      >
        <span class="cell-name">survey</span>
        <span class="cell-value survey-name">{store.surveyName.value || 'no name yet'}</span>
      </button>
      <dialog ref={dialog} class="small-dialog wide" aria-labelledby="surveys-title">
        <h2 id="surveys-title">Surveys on this machine</h2>
        <ul class="kept">
          {kept.map((survey) => (
            <li key={survey.id}>
              <button type="button" class="row-name" onClick={() => { close(); void actions.openKept(survey.id); }}>{survey.name}</button>
              <span class="when">{timeOf(survey.savedAt)}, {survey.done} {survey.done === 1 ? 'step' : 'steps'}</span>
              {survey.id !== store.surveyId.value && (asked === survey.id
                ? <Doubt name={survey.name} onKeep={() => setAsked(null)} onForget={() => void actions.forget(survey.id).then(refresh)} />
                : <button type="button" class="quiet" aria-label={`Forget ${survey.name}`} onClick={() => setAsked(survey.id)}>Forget</button>)}
            </li>
          ))}
        </ul>
        {kept.length === 0 && <p class="say">None yet.</p>}
        <div class="deeds">
          <FileChooser leading onChosen={close} />
          <button type="button" class="deed" onClick={() => { close(); void actions.openSample(); }}>Open the sample</button>
          <button type="button" class="deed" disabled={!store.record.value} onClick={() => actions.saveRecordFile()}>Save record</button>
          <button type="button" class="deed" disabled={!store.record.value} onClick={() => actions.saveSurveyFile()}>Save with steps</button>
          <button type="button" class="quiet" onClick={close}>Close</button>
        </div>
        <p class="say">Files stay on this machine. Several files of one site are opened together.</p>
      </dialog>
    </>
  );
}
