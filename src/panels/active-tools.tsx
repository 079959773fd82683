import { useApp } from './app-context.ts';
import { CorrectTools } from './correct-tools.tsx';
import { MeasureTools } from './measure-tools.tsx';
import type { Store } from './store.ts';

/** What is being measured or corrected. */
export function ActiveTools() {
  const { store } = useApp();
  return (
    <>
      {store.tool.value === 'measure' && <MeasureTools />}
      <CorrectTools />
    </>
  );
}

/** On a phone a tool under way takes the whole sheet: nothing else is looked at meanwhile. */
export const takesTheSheet = ({ compact, tool }: Store): boolean => compact.value && (tool.value === 'measure' || tool.value === 'correct');
