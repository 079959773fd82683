import { createContext } from 'preact';
import { useContext } from 'preact/hooks';
import type { DrawingBoard } from '../viewer/board.ts';
import type { Actions } from './actions.ts';
import type { FitActions } from './fit-actions.ts';
import type { Store } from './store.ts';

/** What every panel may reach. */
export interface App {
  readonly store: Store;
  readonly actions: Actions;
  readonly fitting: FitActions;
  /** The drawing, once it stands on the page. */
  readonly board: { current: DrawingBoard | null };
}

export const AppContext = createContext<App | null>(null);

export function useApp(): App {
  const app = useContext(AppContext);
  if (!app) throw new Error('A panel stands outside the page.');
  return app;
}
