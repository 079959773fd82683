import type { Store, Tool } from './store.ts';

/** On a phone the sheet gives way to whoever points: wholly where nothing is typed, and comes back when a pin was set. */
export function makeRoom({ compact, sheetHeight }: Store, before: Tool, now: Tool): void {
  if (!compact.value || before === now) return;
  if (now === 'pin' || now === 'section' || now === 'clip') sheetHeight.value = 'row';
  else if (now !== 'none') sheetHeight.value = 'half';
  else if (before === 'pin') sheetHeight.value = 'half';
}
