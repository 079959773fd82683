import { useApp } from './app-context.ts';
import { Drawing } from './drawing.tsx';
import { DrawingTitle } from './drawing-title.tsx';
import { SpokenLine, ViewStrip } from './view-strip.tsx';
import { Ledger } from './ledger.tsx';
import { TitleBlock } from './title-block.tsx';
import { PhoneBar, PhoneSheet } from './phone.tsx';
import { ViewTools } from './view-tools.tsx';
import { EmptySheet } from './empty-sheet.tsx';

const COLUMNS = ['1', '2', '3', '4', '5', '6', '7', '8'];
const ROWS = ['A', 'B', 'C', 'D', 'E', 'F'];

/** The sheet: drawing with its zones, notes column, title block; on a phone the same in one hand. */
export function Frame() {
  const { store } = useApp();
  const isEmpty = store.record.value === null && store.points.value === null && store.busy.value === null;
  if (store.compact.value) {
    return (
      <div class={`sheet phone ${store.sheetHeight.value}`}>
        <PhoneBar />
        <main class="drawing">
          <Drawing />
          {isEmpty && <EmptySheet />}
          <ViewTools />
          <SpokenLine />
        </main>
        <PhoneSheet />
      </div>
    );
  }
  return (
    <div class="sheet">
      <main class="drawing">
        <div class="zones columns" aria-hidden="true">{COLUMNS.map((name) => <span key={name}>{name}</span>)}</div>
        <div class="zones rows" aria-hidden="true">{ROWS.map((name) => <span key={name}>{name}</span>)}</div>
        <Drawing />
        {isEmpty ? <EmptySheet /> : <DrawingTitle />}
        <ViewStrip />
      </main>
      <aside class="notes" aria-label="Question ledger">
        <Ledger />
        <TitleBlock />
      </aside>
    </div>
  );
}
