import { batch } from '@preact/signals';
import { InputError } from '../units/input-error.ts';
import type { Decision } from '../roof/record.ts';
import type { SurveyCommand } from '../survey/commands.ts';
import { canRedo, canUndo, doStep, joinStep, redo, undo } from '../survey/history.ts';
import { saveSurvey } from '../survey/saved-survey.ts';
import { CancelledError } from '../survey/task-runner.ts';
import { fingerWords } from './finger-words.ts';
import type { SurveyKeeping } from './keeping.ts';
import type { Store } from './store.ts';
import { nextTurn } from './next-turn.ts';
import { onPage } from './page-words.ts';

/** What a message is about begins a sentence, unless it is the name of a file. */
const sentenceStart = (subject: string): string => (/^[a-z ]+$/.test(subject) ? subject[0]!.toUpperCase() + subject.slice(1) : subject);

/** Does, takes back, says and saves: what every other action is made of. */
export class Journal {
  protected saving: Promise<void> = Promise.resolve();

  constructor(readonly store: Store, protected readonly keeping: SurveyKeeping | null) {}

  /** Does a command, says it and saves it. */
  do(title: string, command: SurveyCommand): void {
    const { history } = this.store;
    if (!history.value) return;
    history.value = doStep(history.value, { title, at: new Date().toISOString(), command });
    void this.save();
  }

  /** Does what follows from the step done last, as part of it: both are taken back at once. */
  doWithLast(title: string, command: SurveyCommand): void {
    const { history } = this.store;
    if (!history.value) return;
    history.value = joinStep(history.value, title, new Date().toISOString(), command);
    void this.save();
  }

  undo(): void {
    const { history } = this.store;
    if (!history.value || !canUndo(history.value)) return this.say('Nothing to take back.');
    const title = history.value.steps[history.value.done - 1]!.title;
    history.value = undo(history.value);
    this.forgetGone();
    this.say(`Taken back: ${title}.`);
    void this.save();
  }

  redo(): void {
    const { history } = this.store;
    if (!history.value || !canRedo(history.value)) return this.say('Nothing to do again.');
    const title = history.value.steps[history.value.done]!.title;
    history.value = redo(history.value);
    this.say(`Done again: ${title}.`);
    void this.save();
  }

  /** Takes back or does again until so many steps are in force. */
  goTo(done: number): void {
    const { history } = this.store;
    let state = history.value;
    if (!state || done < 0 || done > state.steps.length || done === state.done) return;
    while (state.done > done) state = undo(state);
    while (state.done < done) state = redo(state);
    history.value = state;
    this.forgetGone();
    this.say(done === 0 ? 'Back to the roof as surveyed.' : `As after step ${done}: ${state.steps[done - 1]!.title}.`);
    void this.save();
  }

  protected forgetGone(): void {
    const { selection, names, evidence } = this.store;
    if (selection.value && !names.value.has(selection.value.id)) batch(() => ([selection.value, evidence.value] = [null, null]));
  }

  /** Saves the shown survey; saves stand in a row, so that a later state never loses to an earlier one. */
  protected save(): Promise<void> {
    const { history, surveyId, surveyName, savedAt } = this.store;
    const [state, id] = [history.value, surveyId.value];
    if (!state || !id) return this.saving;
    // The title block says "saved" only when it is true.
    savedAt.value = null;
    const time = new Date().toISOString();
    const saved = saveSurvey(surveyName.value, time, state);
    this.saving = this.saving.then(async () => {
      // A step may hold a whole layout: writing it is a task of its own, after what it changed is shown.
      await nextTurn();
      if (!this.keeping) return this.say('This browser keeps nothing. Save the record as a file before you close the page.');
      try {
        await this.keeping.save({ id, saved });
        await this.keeping.choose('open', id);
        if (surveyId.value === id && history.value === state) savedAt.value = time;
      } catch (error) {
        this.say(`Not saved: ${error instanceof Error ? error.message : String(error)}. Save the record as a file.`);
      }
    });
    return this.saving;
  }

  say(text: string, strong?: string): void {
    const said = this.store.compact.value ? fingerWords(text) : text;
    this.store.spoken.value = strong === undefined ? { text: said } : { strong, text: said };
  }

  fail(error: unknown): void {
    if (error instanceof CancelledError) return this.say('Stopped. Nothing was changed.');
    if (error instanceof InputError) return this.say(onPage(error.message.replace(`${error.subject}: `, '')), `${sentenceStart(error.subject)}:`);
    this.say(`This is our fault, not yours: ${error instanceof Error ? error.message : String(error)}`);
    console.error(error);
  }

  protected decision(what: Decision['what'], about: string, more: Pick<Decision, 'before' | 'after' | 'why'> = {}): Decision {
    return { at: new Date().toISOString(), by: this.store.initials.value || 'not signed in', what, about, ...more };
  }
}
