import type { ComponentChildren } from 'preact';
import { useRef, useState } from 'preact/hooks';
import { useApp } from './app-context.ts';
import type { QuestionNumber, QuestionState } from './questions.ts';

/** The row of things to do in an open question: at most three, the first one filled. */
export function Deeds({ children }: { readonly children: ComponentChildren }) {
  return <div class="deeds">{children}</div>;
}

export function Deed({ children, shortcut, leading = false, quiet = false, disabled = false, why, onClick }: {
  readonly children: ComponentChildren; readonly shortcut?: string; readonly leading?: boolean; readonly quiet?: boolean;
  readonly disabled?: boolean; readonly why?: string; readonly onClick: () => void;
}) {
  return (
    <button type="button" class={quiet ? 'quiet' : `deed ${leading ? 'leading' : ''}`} disabled={disabled} {...(why && disabled ? { title: why } : {})} onClick={onClick}>
      {children}
      {shortcut && <kbd>{shortcut}</kbd>}
    </button>
  );
}

/** Closes an answer with a person's initials. */
export function SignDeed({ question, state, leading = true }: { readonly question: QuestionNumber; readonly state: QuestionState; readonly leading?: boolean }) {
  const { actions } = useApp();
  if (state === 'signed') return null;
  return <Signing about={`question-${question}`} words="Sign this answer" leading={leading} {...(state === 'open' ? { why: 'An open question cannot be signed.' } : {})} onSign={() => actions.sign(question)} />;
}

/** Closes one building of a site with a person's initials. */
export function SignBuilding({ building }: { readonly building: string }) {
  const { actions } = useApp();
  return <Signing about={`building-${building}`} words={`Sign for ${building}`} quiet onSign={() => actions.signBuilding(building)} />;
}

/** A signature; initials are asked for once. @param why  Why nothing can be signed, when nothing can. */
function Signing({ about, words, leading = false, quiet = false, why, onSign }: {
  readonly about: string; readonly words: string; readonly leading?: boolean; readonly quiet?: boolean; readonly why?: string; readonly onSign: () => void;
}) {
  const { store, actions } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  const [initials, setInitials] = useState(store.initials.value);
  const sign = (): void => {
    if (store.initials.value === '') return dialog.current?.showModal();
    onSign();
  };
  return (
    <>
      <Deed leading={leading} quiet={quiet} disabled={why !== undefined} {...(why ? { why } : {})} onClick={sign}>{words}</Deed>
      <dialog ref={dialog} class="small-dialog" aria-labelledby={`sign-${about}`}>
        <form
          method="dialog"
          onSubmit={() => {
            const given = initials.trim();
            if (given === '') return;
            actions.setInitials(given);
            onSign();
          }}
        >
          <h2 id={`sign-${about}`}>Who signs?</h2>
          <label>
            Initials
            <input value={initials} maxLength={12} required onInput={(event) => setInitials(event.currentTarget.value)} />
          </label>
          <p>They stand beside the answer with the time, here and in everything handed over.</p>
          <div class="deeds">
            <button type="submit" class="deed leading">Sign</button>
            <button type="button" class="quiet" onClick={() => dialog.current?.close()}>Not now</button>
          </div>
        </form>
      </dialog>
    </>
  );
}
