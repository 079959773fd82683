import { useRef } from 'preact/hooks';
import { useApp } from './app-context.ts';

/** A deed that lets a person choose files. */
export function FileChooser({ leading = false, onChosen }: { readonly leading?: boolean; readonly onChosen?: () => void }) {
  const { actions } = useApp();
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" class={`deed ${leading ? 'leading' : ''}`} onClick={() => input.current?.click()}>Choose files<kbd>O</kbd></button>
      <input
        ref={input}
        type="file"
        multiple
        hidden
        data-file-chooser
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          event.currentTarget.value = '';
          onChosen?.();
          void actions.openFiles(files);
        }}
      />
    </>
  );
}
