import type { RoofRecord } from '../roof/record.ts';
import { partCompanions } from '../survey/companions.ts';
import { startHistory } from '../survey/history.ts';
import { optionsOfRecord } from '../survey/survey-options.ts';
import { doSavedSteps, saveSurvey } from '../survey/saved-survey.ts';
import { recordText } from '../survey/write-record.ts';
import { download, fileName } from './download.ts';
import type { KeptRow } from './keeping.ts';
import { newId, prepareScene, SAMPLE_ID, SurveyActions } from './survey-actions.ts';

const SAMPLE_NAME = 'Harbour works, sample';

/** Opens files, records and kept surveys. */
export class OpeningActions extends SurveyActions {
  /** Opens what was open last; the sample on a first visit. */
  async begin(): Promise<void> {
    const last = await this.keeping?.chosen('open');
    if (typeof last === 'string' && (await this.keeping?.stepsKept(last)) != null) await this.openKept(last);
    else await this.openSample();
  }

  /** Opens the sample as it was surveyed; where somebody worked on one already, that stays in the list and this is another. */
  async openSample(): Promise<void> {
    try {
      await this.saving;
      const id = ((await this.keeping?.stepsKept(SAMPLE_ID)) ?? 0) > 0 ? newId() : SAMPLE_ID;
      await this.survey([await this.engine.sample()], SAMPLE_NAME, id);
    } catch (error) {
      this.fail(error);
    }
  }

  /** Files that were dropped or chosen: a record alone is opened as one, anything else is surveyed together. */
  async openFiles(files: readonly File[]): Promise<void> {
    if (files.length === 0) return;
    const { surveyed } = partCompanions(files);
    const [first] = surveyed;
    if (files.length === 1 && first!.name.endsWith('.json')) return this.openRecord(first!);
    if (this.waitsFor(surveyed)) return this.attach(files);
    const name = first!.name.replace(/\.[^.]+$/, '') + (surveyed.length > 1 ? ` and ${surveyed.length - 1} more` : '');
    await this.survey(files, name, newId());
  }

  /** Whether a record is shown without its points, and these are called like the files it was made from. */
  private waitsFor(files: readonly File[]): boolean {
    const { points, record, busy } = this.store;
    const names = record.value?.sources.map(({ file }) => file) ?? [];
    return points.value === null && busy.value === null && names.length === files.length && files.every(({ name }) => names.includes(name));
  }

  /** Takes the points of the shown record from files; files that only are called the same are a survey of their own. */
  private async attach(files: readonly File[]): Promise<void> {
    const { record, surveyId, surveyName } = this.store;
    const shown = record.value!;
    const [id, name] = [surveyId.value!, surveyName.value];
    const made = await this.survey(files, name, id, true, optionsOfRecord(shown));
    if (!made) return void (this.store.points.value = null);
    if (haveSameSources(shown, made)) {
      await this.keepFiles(id, files);
      return this.say('Points of its own files: shown with everything that was done.', name);
    }
    this.store.points.value = null;
    await this.survey(files, name, newId(), false, optionsOfRecord(shown));
    this.say('These files are called like those of the record, but hold something else. They are a survey of their own; the record stands in the list.', name);
  }

  /** Opens a kept survey: its record and steps at once, its points as soon as they are read again. */
  async openKept(id: string): Promise<void> {
    const saved = (await this.keeping?.find(id))?.saved;
    if (!saved) return this.say('It is not kept any more.');
    try {
      const { base } = await this.engine.readRecord({ kind: 'kept', saved });
      await prepareScene(base);
      this.show(doSavedSteps(startHistory(base), saved), id, saved.name);
      this.store.savedAt.value = saved.savedAt;
    } catch (error) {
      return this.fail(error);
    }
    await this.keeping?.choose('open', id);
    const files = id === SAMPLE_ID ? [await this.engine.sample()] : await (this.keeping?.filesOf(id) ?? []);
    const record = this.store.record.value;
    if (files.length > 0) await this.survey(files, saved.name, id, true, record ? optionsOfRecord(record) : {});
    else this.say('The points of this survey are not on this machine. Open its files again to see them.');
  }

  protected async openRecord(file: File): Promise<void> {
    try {
      const { base, saved } = await this.engine.readRecord({ kind: 'file', text: await file.text(), name: file.name });
      this.store.points.value = null;
      if (saved) {
        this.show(doSavedSteps(startHistory(base), saved), newId(), saved.name);
        await this.save();
        return this.say('Opened with every step. Open the files it was made from to see points.', file.name);
      }
      this.show(startHistory(base), newId(), file.name.replace(/\.json$/, ''));
      await this.save();
      this.say('Record opened. Open the files it was made from to see points.', file.name);
    } catch (error) {
      this.fail(error);
    }
  }

  keptSurveys(): Promise<readonly KeptRow[]> {
    return this.keeping?.list() ?? Promise.resolve([]);
  }

  async forget(id: string): Promise<void> {
    await this.keeping?.remove(id);
  }

  /** Everything that was done, in one file: opened elsewhere, undo works as here. */
  saveSurveyFile(): void {
    const { history, surveyName } = this.store;
    if (!history.value) return;
    const name = `${fileName(surveyName.value)}.survey.json`;
    download(name, 'application/json', JSON.stringify(saveSurvey(surveyName.value, new Date().toISOString(), history.value)));
    this.say('Saved with every step.', name);
  }

  saveRecordFile(): void {
    const { record, surveyName } = this.store;
    if (!record.value) return;
    const name = `${fileName(surveyName.value)}.record.json`;
    download(name, 'application/json', recordText(record.value));
    this.say('Record saved as a file.', name);
  }
}

/** Whether two records were made from the same bytes. */
function haveSameSources(a: RoofRecord, b: RoofRecord): boolean {
  const sums = ({ sources }: RoofRecord): string => sources.map(({ sha256 }) => sha256).toSorted().join(' ');
  return sums(a) === sums(b);
}

