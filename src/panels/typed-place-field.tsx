import { useRef, useState } from 'preact/hooks';
import { useApp } from './app-context.ts';

/** Where the next place of a measurement or correction is typed; a digit typed anywhere else lands here. */
export function TypedPlaceField() {
  const { store, actions } = useApp();
  const [text, setText] = useState('');
  const field = useRef<HTMLInputElement>(null);
  return (
    <form
      class="typed-place"
      onSubmit={(event) => {
        event.preventDefault();
        if (actions.typePlace(text)) setText('');
        field.current?.focus();
      }}
    >
      <label>
        or type <input ref={field} data-typed-place value={text} size={16} autocomplete="off" placeholder="3.50" aria-describedby="typed-place-help" onInput={(event) => setText(event.currentTarget.value)} onKeyDown={(event) => {
          if (event.key !== 'Escape') return;
          event.stopPropagation();
          setText('');
          document.querySelector<HTMLElement>('.board')?.focus();
        }} />
      </label>
      <button type="submit" class="quiet" disabled={text.trim() === ''}>Take it<kbd>Enter</kbd></button>
      <p id="typed-place-help" class="say small">
        {store.units.value.length === 'ft-in' ? '11\' 6" runs' : '3.50 runs'} towards the pointer; <code>1.2; 0.4</code> goes east and north; <code>= x; y; z</code> is a place of the file.
      </p>
    </form>
  );
}
