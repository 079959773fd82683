import type { RoofRecord } from '../roof/record.ts';
import { applyCommand, type SurveyCommand } from './commands.ts';

/** One step as a person sees it: what was done, when. */
export interface HistoryStep {
  /** "distance M1", "refuse p3". */
  readonly title: string;
  /** ISO time, handed in by the caller. */
  readonly at: string;
  readonly command: SurveyCommand;
}

/** A record with everything a person did to it. Steps from `done` on were taken back and may be done again. */
export interface History {
  readonly base: RoofRecord;
  readonly record: RoofRecord;
  readonly steps: readonly HistoryStep[];
  readonly done: number;
  /** Inverse of each step done. */
  readonly inverses: readonly SurveyCommand[];
}

export const startHistory = (record: RoofRecord): History => ({ base: record, record, steps: [], done: 0, inverses: [] });

/** Does a step; steps that were taken back are dropped. */
export function doStep(history: History, step: HistoryStep): History {
  const { record, inverse } = applyCommand(history.record, step.command);
  return {
    base: history.base,
    record,
    steps: [...history.steps.slice(0, history.done), step],
    done: history.done + 1,
    inverses: [...history.inverses.slice(0, history.done), inverse],
  };
}

const flat = (command: SurveyCommand): readonly SurveyCommand[] => (command.kind === 'several' ? command.commands : [command]);

/** Does one thing more as part of the step done last, so that both are taken back at once; a step of its own where none was done. */
export function joinStep(history: History, title: string, at: string, command: SurveyCommand): History {
  const last = history.steps[history.done - 1];
  if (!last) return doStep(history, { title, at, command });
  const { record, inverse } = applyCommand(history.record, command);
  return {
    ...history, record,
    steps: history.steps.with(history.done - 1, { ...last, command: { kind: 'several', commands: [...flat(last.command), ...flat(command)] } }),
    inverses: history.inverses.with(history.done - 1, { kind: 'several', commands: [inverse, history.inverses[history.done - 1]!] }),
  };
}

export const canUndo = (history: History): boolean => history.done > 0;
export const canRedo = (history: History): boolean => history.done < history.steps.length;

/** Takes the last step back; the same history when there is none. */
export function undo(history: History): History {
  if (!canUndo(history)) return history;
  const { record } = applyCommand(history.record, history.inverses[history.done - 1]!);
  return { ...history, record, done: history.done - 1, inverses: history.inverses.slice(0, -1) };
}

/** Does the step again that was taken back last; the same history when there is none. */
export function redo(history: History): History {
  if (!canRedo(history)) return history;
  const { record, inverse } = applyCommand(history.record, history.steps[history.done]!.command);
  return { ...history, record, done: history.done + 1, inverses: [...history.inverses, inverse] };
}
