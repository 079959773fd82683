import { useEffect, useRef, useState } from 'preact/hooks';
import { AppContext, type App } from './app-context.ts';
import { Frame } from './frame.tsx';
import { KEYS, onPageKey } from './shortcuts.ts';

const COMPACT = '(max-width: 719px)';

/** The whole page: the sheet, files dropped on it, keys, and the sheet of keys. */
export function Page({ app }: { readonly app: App }) {
  const keys = useRef<HTMLDialogElement>(null);
  const [dropping, setDropping] = useState(false);

  useEffect(() => {
    const onKey = (event: KeyboardEvent): void => onPageKey(event, app, () => keys.current?.showModal());
    window.addEventListener('keydown', onKey);
    const narrow = window.matchMedia(COMPACT);
    const onWidth = (): void => void (app.store.compact.value = narrow.matches);
    narrow.addEventListener('change', onWidth);
    return () => {
      window.removeEventListener('keydown', onKey);
      narrow.removeEventListener('change', onWidth);
    };
  }, [app]);

  useEffect(() => {
    const over = (event: DragEvent): void => {
      if (!event.dataTransfer?.types.includes('Files')) return;
      event.preventDefault();
      setDropping(true);
    };
    const leave = (event: DragEvent): void => {
      if (event.relatedTarget === null) setDropping(false);
    };
    const drop = (event: DragEvent): void => {
      event.preventDefault();
      setDropping(false);
      void app.actions.openFiles([...(event.dataTransfer?.files ?? [])]);
    };
    window.addEventListener('dragover', over);
    window.addEventListener('dragleave', leave);
    window.addEventListener('drop', drop);
    return () => {
      window.removeEventListener('dragover', over);
      window.removeEventListener('dragleave', leave);
      window.removeEventListener('drop', drop);
    };
  }, [app]);

  return (
    <AppContext.Provider value={app}>
      <Frame />
      {dropping && <div class="dropping" aria-hidden="true"><p>Let go: these files become one survey.</p></div>}
      <dialog ref={keys} class="small-dialog keys-sheet" aria-labelledby="keys-title">
        <h2 id="keys-title" tabIndex={-1} autofocus>Keys</h2>
        <dl class="keys">{KEYS.map(([key, deed]) => <div key={key}><dt><kbd>{key}</kbd></dt><dd>{deed}</dd></div>)}</dl>
        <form method="dialog"><button type="submit" class="deed">Close</button></form>
      </dialog>
    </AppContext.Provider>
  );
}

/** Whether the page opens as the one-hand sheet. */
export const opensCompact = (): boolean => window.matchMedia(COMPACT).matches;
