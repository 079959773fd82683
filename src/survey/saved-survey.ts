import { InputError } from '../units/input-error.ts';
import { doStep, startHistory, undo, type History, type HistoryStep } from './history.ts';
import { validateRecord } from './validate-record.ts';

/** A survey as it is kept between visits: the record as it was made, and every step a person took since. */
export interface SavedSurvey {
  readonly version: 1;
  readonly name: string;
  readonly savedAt: string;
  readonly base: unknown;
  readonly steps: readonly HistoryStep[];
  readonly done: number;
}

export const saveSurvey = (name: string, savedAt: string, history: History): SavedSurvey => ({
  version: 1,
  name,
  savedAt,
  base: history.base,
  steps: history.steps,
  done: history.done,
});

/**
 * Brings a saved survey back by doing its steps again, so that undo works as before.
 *
 * @throws InputError when the version is not known, a field is not as expected or a step does not fit the record.
 */
export function openSavedSurvey(saved: SavedSurvey): History {
  if (saved.version !== 1) throw new InputError('saved survey', `version is ${String(saved.version)}, expected 1.`);
  if (!Array.isArray(saved.steps)) throw new InputError('saved survey', 'steps is no list.');
  if (!Number.isInteger(saved.done) || saved.done < 0 || saved.done > saved.steps.length) {
    throw new InputError('saved survey', `done is ${String(saved.done)}, expected 0 to ${saved.steps.length}.`);
  }
  let history = startHistory(validateRecord(saved.base, 'saved survey'));
  saved.steps.forEach((step, i) => {
    try {
      history = doStep(history, step);
    } catch (error) {
      throw new InputError('saved survey', `step ${i + 1} (${step.title}) does not fit: ${error instanceof Error ? error.message : String(error)}`);
    }
  });
  while (history.done > saved.done) history = undo(history);
  return history;
}
