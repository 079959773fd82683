import type { Vector2 } from '../../geometry/vector.ts';
import type { RecordPick } from '../../roof/record.ts';

/** What of the roof is corrected. */
export type CorrectTool = 'move-corner' | 'add-corner' | 'remove-corner' | 'merge' | 'split' | 'lasso' | 'reshape' | 'parapet';

export type CorrectState =
  | { readonly name: 'idle' }
  /** Waits for its next pick; `about` is the part chosen before, a plane to split or a thing to draw again. */
  | { readonly name: 'correcting'; readonly tool: CorrectTool; readonly about: string | null; readonly picks: readonly RecordPick[] };

export type CorrectEvent =
  /** `about` is what is selected; it saves a pick where a tool can use it. */
  | { readonly kind: 'start'; readonly tool: CorrectTool; readonly about: string | null }
  | { readonly kind: 'pick'; readonly pick: RecordPick }
  /** Ends a lasso, a foot or a parapet. */
  | { readonly kind: 'close' }
  /** Takes the last pick back; with none, ends the tool. */
  | { readonly kind: 'back' }
  | { readonly kind: 'cancel' };

/** What a finished gesture means. */
export type Correction =
  | { readonly kind: 'move-corner'; readonly from: RecordPick; readonly to: RecordPick }
  | { readonly kind: 'add-corner'; readonly on: RecordPick; readonly to: RecordPick }
  | { readonly kind: 'remove-corner'; readonly at: RecordPick }
  | { readonly kind: 'merge'; readonly planes: readonly [string, string] }
  | { readonly kind: 'split'; readonly plane: string | null; readonly along: readonly [Vector2, Vector2]; readonly picks: readonly RecordPick[] }
  | { readonly kind: 'lasso'; readonly picks: readonly RecordPick[] }
  | { readonly kind: 'reshape'; readonly thing: string; readonly picks: readonly RecordPick[] }
  | { readonly kind: 'parapet'; readonly picks: readonly RecordPick[] };

export interface CorrectOutcome {
  readonly state: CorrectState;
  /** Set when this event completed a correction. */
  readonly finished: Correction | null;
  /** Why nothing was taken, when a person would wonder. */
  readonly refusal: string | null;
}

/** Two picks nearer than this are one. [m] */
const SAME_PLACE_M = 0.001;
const IDLE: CorrectState = { name: 'idle' };

/** Closed by a person rather than by count, with the least number of picks. */
const CLOSED: Readonly<Partial<Record<CorrectTool, number>>> = { lasso: 3, reshape: 3, parapet: 2 };

/** True for tools whose picks make a ring. */
export const isRingTool = (tool: string): boolean => tool === 'lasso' || tool === 'reshape';

/** Fewest picks with which a person may end the tool; null for one that ends by itself. */
export const closesAfter = (tool: CorrectTool): number | null => CLOSED[tool] ?? null;

/** Advances a correction by one event. A finished or refused gesture leaves the record to whoever asked. */
export function correctStep(state: CorrectState, event: CorrectEvent): CorrectOutcome {
  if (event.kind === 'start') return start(event.tool, event.about);
  if (state.name === 'idle') return outcome(state);
  switch (event.kind) {
    case 'cancel':
      return outcome(IDLE);
    case 'back':
      return outcome(state.picks.length > 0 ? { ...state, picks: state.picks.slice(0, -1) } : IDLE);
    case 'close': {
      const least = closesAfter(state.tool);
      if (least === null) return outcome(state, 'It ends with its last pick.');
      return state.picks.length >= least ? close(state) : outcome(state, least === 3 ? 'An outline needs three corners.' : 'A line needs two places.');
    }
    case 'pick':
      return take(state, event.pick);
  }
}

type Correcting = CorrectState & { readonly name: 'correcting' };

function start(tool: CorrectTool, about: string | null): CorrectOutcome {
  if (tool === 'reshape' && about === null) return outcome(IDLE, 'Choose the thing first, then draw its foot.');
  return outcome({ name: 'correcting', tool, about, picks: [] });
}

function take(state: Correcting, pick: RecordPick): CorrectOutcome {
  const [first, last] = [state.picks[0], state.picks.at(-1)];
  const least = closesAfter(state.tool);
  if (least !== null && state.picks.length >= 3 && first && samePlace(first, pick)) return close(state.tool === 'parapet' ? { ...state, picks: [...state.picks, pick] } : state);
  // The last place again, by a double click or Enter twice, ends what has enough of them.
  if (least !== null && state.picks.length >= least && samePlace(last!, pick)) return close(state);
  // Two planes may be named by one corner they share.
  if (last && state.tool !== 'merge' && samePlace(last, pick)) return outcome(state, state.tool === 'move-corner' ? 'That is where it stands already.' : 'That is the same place. Nothing was taken.');
  const refusal = refuse(state, pick);
  if (refusal) return outcome(state, refusal);
  const picks = [...state.picks, pick];
  const next: Correcting = { ...state, picks };
  switch (state.tool) {
    case 'remove-corner':
      return finish({ kind: 'remove-corner', at: pick });
    case 'move-corner':
      return picks.length === 2 ? finish({ kind: 'move-corner', from: picks[0]!, to: pick }) : outcome(next);
    case 'add-corner':
      return picks.length === 2 ? finish({ kind: 'add-corner', on: picks[0]!, to: pick }) : outcome(next);
    case 'merge': {
      const planes = mergeable(state, picks);
      return planes ? finish({ kind: 'merge', planes }) : outcome(next);
    }
    case 'split':
      return picks.length === 2 ? finish({ kind: 'split', plane: state.about, along: [planOf(picks[0]!), planOf(pick)], picks }) : outcome(next);
    default:
      return outcome(next);
  }
}

/** Why a pick cannot be the next one of a tool. */
function refuse({ tool, about, picks }: Correcting, pick: RecordPick): string | null {
  if ((tool === 'move-corner' && picks.length === 0) || tool === 'remove-corner') return pick.landedOn === 'corner' ? null : 'That is no outline corner. Click one.';
  if (tool === 'add-corner' && picks.length === 0) return pick.landedOn === 'edge' ? null : 'That is no edge. Click one, away from its ends.';
  if (tool === 'merge') {
    if (pick.of === null || pick.landedOn !== 'plane') return 'That is no roof plane. Click well inside one.';
    const taken = picks[0]?.of ?? about;
    return pick.of === taken ? 'That is the same plane. Click the other one.' : null;
  }
  return null;
}

/** The plane chosen before counts as the first. */
function mergeable({ about }: Correcting, picks: readonly RecordPick[]): readonly [string, string] | null {
  const planes = [...(about === null ? [] : [about]), ...picks.map(({ of }) => of!)];
  return planes.length === 2 ? [planes[0]!, planes[1]!] : null;
}

function close(state: Correcting): CorrectOutcome {
  const { tool, picks, about } = state;
  if (tool === 'lasso') return finish({ kind: 'lasso', picks });
  if (tool === 'parapet') return finish({ kind: 'parapet', picks });
  return finish({ kind: 'reshape', thing: about!, picks });
}

const finish = (finished: Correction): CorrectOutcome => ({ state: IDLE, finished, refusal: null });
const outcome = (state: CorrectState, refusal: string | null = null): CorrectOutcome => ({ state, finished: null, refusal });
const planOf = ({ at }: RecordPick): Vector2 => [at[0], at[1]];
const samePlace = (a: RecordPick, b: RecordPick): boolean => Math.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1], a.at[2] - b.at[2]) < SAME_PLACE_M;
