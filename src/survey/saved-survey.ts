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

/** A survey with its steps, when a text is one; null for anything else. */
export function savedSurveyIn(text: string): SavedSurvey | null {
  try {
    const found = JSON.parse(text) as Partial<SavedSurvey> | null;
    return found?.base !== undefined && found.steps !== undefined ? (found as SavedSurvey) : null;
  } catch {
    return null;
  }
}

/** @throws InputError when the version is not known or a field besides the record is not as expected. */
export function checkSavedSurvey(saved: Omit<SavedSurvey, 'base'>): void {
  if (typeof saved.version === 'number' && saved.version > 1) throw new InputError('saved survey', `was saved by a newer version of this program (form ${String(saved.version)}, this one reads 1). Open it there.`);
  if (saved.version !== 1) throw new InputError('saved survey', `version is ${String(saved.version)}, expected 1.`);
  if (!Array.isArray(saved.steps)) throw new InputError('saved survey', 'steps is no list.');
  if (!Number.isInteger(saved.done) || saved.done < 0 || saved.done > saved.steps.length) {
    throw new InputError('saved survey', `done is ${String(saved.done)}, expected 0 to ${saved.steps.length}.`);
  }
}

/**
 * Brings a saved survey back by doing its steps again, so that undo works as before.
 *
 * @throws InputError when the version is not known, a field is not as expected or a step does not fit the record.
 */
export function openSavedSurvey(saved: SavedSurvey): History {
  checkSavedSurvey(saved);
  return doSavedSteps(startHistory(validateRecord(saved.base, 'saved survey')), saved);
}

/**
 * Does the steps of a saved survey on its record, which was checked before.
 *
 * @throws InputError when a step does not fit the record.
 */
export function doSavedSteps(start: History, saved: Pick<SavedSurvey, 'steps' | 'done'>): History {
  let history = start;
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
