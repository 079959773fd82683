import { useRef, useState } from 'preact/hooks';
import { lengthUnit } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';

/** Where the next place of a measurement or correction is typed; a digit typed anywhere else lands here. */
export function TypedPlaceField() {
  const { store, actions } = useApp();
  const [text, setText] = useState('');
  const { length } = store.units.value;
  const bare = lengthUnit(store.units.value).word;
  const example = length === 'ft-in' ? '11\' 6"' : length === 'mm' ? '3500' : '3.50';
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
        or type <input ref={field} data-typed-place value={text} size={16} autocomplete="off" placeholder={example} aria-describedby="typed-place-help" onInput={(event) => setText(event.currentTarget.value)} onKeyDown={(event) => {
          if (event.key !== 'Escape') return;
          event.stopPropagation();
          setText('');
          document.querySelector<HTMLElement>('.board')?.focus();
        }} />
      </label>
      <button type="submit" class="quiet" disabled={text.trim() === ''}>Take it<kbd>Enter</kbd></button>
      <p id="typed-place-help" class="say small">
        {example} runs towards the pointer; <code>1.2; 0.4</code> goes east and north;{bare === 'm' ? '' : ` a number alone is in ${bare};`} <code>= x; y; z</code> is a place of the file.
      </p>
    </form>
  );
}
