import { useEffect } from 'preact/hooks';
import { useApp } from './app-context.ts';

/** What was chosen in the drawing is in sight in the ledger. */
export function useChosenInSight(): void {
  const chosen = useApp().store.selection.value?.id;
  useEffect(() => document.querySelector('.question-body :is(tr, .feature).selected')?.scrollIntoView({ block: 'nearest' }), [chosen]);
}
