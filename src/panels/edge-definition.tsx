import { useId, useRef, useState } from 'preact/hooks';
import type { Building, EdgeDefinition, RoofEdge } from '../roof/record.ts';
import { measuredAsSentence } from '../reading/evidence-words.ts';
import { CONVERTIBLE_KINDS, DEFINITION_WORDS, type StatedConversion } from '../survey/correct/convert-edges.ts';
import { isFree } from '../survey/correct/inset-edges.ts';
import { InputError } from '../units/input-error.ts';
import { typedLength } from '../units/typed-length.ts';
import { exampleLength, lengthUnit } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';
import { Deed } from './deeds.tsx';

const DEFINITIONS = Object.keys(DEFINITION_WORDS) as EdgeDefinition[];
type Reach = 'one' | 'building' | 'site';

/** Which edge was measured, and another one that it shall stand for: by an offset a person states, with its ±. */
export function EdgeDefinitionDeed({ building, edge }: { readonly building: Building; readonly edge: RoofEdge }) {
  const { store, actions } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  const title = useId();
  const [to, setTo] = useState<EdgeDefinition>('gutter-lip');
  const [way, setWay] = useState<1 | -1>(1);
  const [offset, setOffset] = useState('');
  const [doubt, setDoubt] = useState('');
  const [reach, setReach] = useState<Reach>('building');
  const [why, setWhy] = useState('');
  const [fault, setFault] = useState('');
  if (!isFree(edge) || !CONVERTIBLE_KINDS.includes(edge.kind)) return null;
  const units = store.units.value;
  const name = store.names.value.get(edge.id) ?? edge.id;
  const submit = (event: SubmitEvent): void => {
    event.preventDefault();
    try {
      const edges = reach === 'one' ? [edge.id] : reach === 'building' ? building.edges.filter((other) => other.kind === edge.kind && isFree(other)).map(({ id }) => id) : undefined;
      const bare = lengthUnit(units).metres;
      const stated: StatedConversion = { to, offsetM: way * Math.abs(typedLength(offset, bare)), u95M: Math.abs(typedLength(doubt, bare)), kinds: [edge.kind], ...(edges ? { edges } : {}) };
      if (!actions.callEdges(stated, why.trim() || 'stated by a person')) return;
      setFault('');
      dialog.current?.close();
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      setFault(error.message);
    }
  };
  return (
    <>
      <p class="say"><Deed quiet onClick={() => dialog.current?.showModal()}>Let {name} stand for another edge…</Deed></p>
      <dialog ref={dialog} class="small-dialog wide" aria-labelledby={title}>
        <form onSubmit={submit}>
          <h2 id={title}>Which edge is {edge.kind} {name}?</h2>
          <p>{measuredAsSentence(edge, units)}</p>
          <p>
            <label class="paste">It shall stand for the <select value={to} onChange={(event) => setTo(event.currentTarget.value as EdgeDefinition)}>
              {DEFINITIONS.map((each) => <option key={each} value={each}>{DEFINITION_WORDS[each]}</option>)}
            </select></label>
          </p>
          <p>
            <label class="paste">which lies <input value={offset} size={8} required placeholder={exampleLength(0.12, units)} onInput={(event) => setOffset(event.currentTarget.value)} /></label>
            {' '}<label class="paste">± <input value={doubt} size={8} required placeholder={exampleLength(0.02, units)} onInput={(event) => setDoubt(event.currentTarget.value)} /></label>
            {' '}<label class="paste"><span class="for-readers">which way</span><select value={String(way)} onChange={(event) => setWay(event.currentTarget.value === '1' ? 1 : -1)}>
              <option value="1">outwards</option>
              <option value="-1">towards the roof</option>
            </select></label> in plan.
          </p>
          <p>
            <label class="paste">This holds for <select value={reach} onChange={(event) => setReach(event.currentTarget.value as Reach)}>
              <option value="one">{name} alone</option>
              <option value="building">every {edge.kind} of {building.id}</option>
              <option value="site">every {edge.kind} of the site</option>
            </select></label>
          </p>
          <p>Areas and lengths follow, with the ± of the offset in them as a part of its own. Module places are taken away, since they fit the old edges. The record keeps what was measured, the offset and why; undo brings all back.</p>
          <p><label>Why<input value={why} maxLength={200} onInput={(event) => setWhy(event.currentTarget.value)} /></label></p>
          {fault !== '' && <p class="say" role="alert"><b>{fault}</b></p>}
          <div class="deeds">
            <button type="submit" class="deed leading">Call it so</button>
            <button type="button" class="quiet" onClick={() => dialog.current?.close()}>Leave it as measured</button>
          </div>
        </form>
      </dialog>
    </>
  );
}
