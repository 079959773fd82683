import type { RecordPick } from '../../roof/record.ts';

/** What is being measured. */
export type MeasureTool = 'distance' | 'area' | 'height-above-roof' | 'height-above-ground' | 'pitch' | 'angle' | 'plane-angle' | 'radius' | 'bearing' | 'width' | 'outline';

/** How many picks each kind takes; an area takes three or more and is closed by a person. */
export const PICKS_NEEDED: Readonly<Record<MeasureTool, number>> = {
  distance: 2,
  area: Infinity,
  /** Footprint of a thing in the way; closed like an area. */
  outline: Infinity,
  'height-above-roof': 2,
  'height-above-ground': 1,
  pitch: 3,
  angle: 3,
  /** Between two planes. */
  'plane-angle': 2,
  radius: 3,
  /** Square across: two along one side, one on the other. */
  width: 3,
  bearing: 2,
};

export type MeasureState =
  | { readonly name: 'idle' }
  /** Waits for its next pick; none taken yet is an empty list. */
  | { readonly name: 'picking'; readonly tool: MeasureTool; readonly picks: readonly RecordPick[] };

export type MeasureEvent =
  | { readonly kind: 'start'; readonly tool: MeasureTool }
  | { readonly kind: 'pick'; readonly pick: RecordPick }
  /** Closes an area. */
  | { readonly kind: 'close' }
  /** Takes the last pick back; with none, ends the measuring. */
  | { readonly kind: 'back' }
  | { readonly kind: 'cancel' };

export interface MeasureOutcome {
  readonly state: MeasureState;
  /** Set when this event completed a measurement. */
  readonly finished: { readonly tool: MeasureTool; readonly picks: readonly RecordPick[] } | null;
  /** Why nothing was recorded, when a person would wonder. */
  readonly refusal: string | null;
}

/** Two picks nearer than this are one. [m] */
const SAME_PLACE_M = 0.001;

/** Advances a measurement by one event. After a finished one it waits for the first pick of the next. */
export function measureStep(state: MeasureState, event: MeasureEvent): MeasureOutcome {
  if (event.kind === 'start') return outcome({ name: 'picking', tool: event.tool, picks: [] });
  if (state.name === 'idle') return outcome(state);
  switch (event.kind) {
    case 'cancel':
      return outcome({ name: 'idle' });
    case 'back':
      return outcome(state.picks.length > 0 ? { ...state, picks: state.picks.slice(0, -1) } : { name: 'idle' });
    case 'close':
      return state.picks.length >= 3 && isRing(state.tool) ? finish(state.tool, state.picks) : outcome(state, 'An area needs three corners.');
    case 'pick':
      return take(state, event.pick);
  }
}

function take(state: MeasureState & { name: 'picking' }, pick: RecordPick): MeasureOutcome {
  const [first, last] = [state.picks[0], state.picks.at(-1)];
  // The last place again, by a double click or Enter twice, ends it as the first one does.
  if (isRing(state.tool) && state.picks.length >= 3 && (samePlace(first!, pick) || samePlace(last!, pick))) return finish(state.tool, state.picks);
  if (last && samePlace(last, pick)) return outcome(state, 'That is the same place. Nothing was taken.');
  const picks = [...state.picks, pick];
  if (picks.length >= PICKS_NEEDED[state.tool]) return finish(state.tool, picks);
  return outcome({ ...state, picks });
}

function finish(tool: MeasureTool, picks: readonly RecordPick[]): MeasureOutcome {
  return { state: { name: 'picking', tool, picks: [] }, finished: { tool, picks }, refusal: null };
}

const outcome = (state: MeasureState, refusal: string | null = null): MeasureOutcome => ({ state, finished: null, refusal });

/** Closed by a person rather than by count. */
const isRing = (tool: MeasureTool): boolean => PICKS_NEEDED[tool] === Infinity;

const samePlace = (a: RecordPick, b: RecordPick): boolean =>
  Math.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1], a.at[2] - b.at[2]) < SAME_PLACE_M;
