import { useRef, useState } from 'preact/hooks';
import { offeredCorrections, type OfferedCorrection } from '../survey/correct/apply-correction.ts';
import { sentenceIn } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';

const HEAD: Readonly<Record<OfferedCorrection['kind'], string>> = {
  scale: 'Correct the scale?',
  edge: 'Move the edges?',
  'vertical-scale': 'Correct the heights?',
  shift: 'Move the model?',
  tilt: 'Level the model?',
  turn: 'Turn the model?',
  'edge-definition': 'Call edges otherwise?',
};

/** What the readings give reason to correct, and what was corrected already. */
export function TapeCorrections() {
  const { store } = useApp();
  const record = store.record.value!;
  const offered = offeredCorrections(record);
  return (
    <>
      {offered.map((offer) => <Offer key={offer.kind} offer={offer} />)}
      {(record.corrections ?? []).map(({ kind, by, at, why }) => (
        <p key={`${kind} ${at}`} class="say"><b>Corrected: {kind.replace('-', ' ')}</b>, {by}, {at.slice(0, 16).replace('T', ' ')}. {why}</p>
      ))}
    </>
  );
}

function Offer({ offer }: { readonly offer: OfferedCorrection }) {
  const { store, actions } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  const [why, setWhy] = useState('');
  const record = store.record.value!;
  const says = sentenceIn(offer.says, store.units.value);
  const id = `correct-${offer.kind}`;
  return (
    <div class="tape-form">
      <span>{says}</span>
      <button type="button" class="deed" onClick={() => dialog.current?.showModal()}>Apply this correction…</button>
      <dialog ref={dialog} class="small-dialog wide" aria-labelledby={id}>
        <form
          method="dialog"
          onSubmit={() => {
            actions.applyCorrection(offer, why);
            setWhy('');
          }}
        >
          <h2 id={id}>{HEAD[offer.kind]}</h2>
          <p>{says}</p>
          <p>
            It rests on {offer.readings.join(', ')}. {offer.kind === 'shift' ? 'Only the place on the map changes.' : 'Every length, area and pitch is derived again, with the doubt of this correction in it.'}
            {record.layout || record.usable ? ' Module places and usable area are taken away, since they fit the old sizes; place them again in question 6.' : ''}
          </p>
          <p>That the same readings agree afterwards is no proof. Tape something else. The record keeps what was, what is, who and why; undo brings all back.</p>
          <p><label>Why<input value={why} maxLength={200} onInput={(event) => setWhy(event.currentTarget.value)} /></label></p>
          <div class="deeds">
            <button type="submit" class="deed leading">Correct it</button>
            <button type="button" class="quiet" onClick={() => dialog.current?.close()}>Leave it as it is</button>
          </div>
        </form>
      </dialog>
    </div>
  );
}
