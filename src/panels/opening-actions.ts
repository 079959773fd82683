import { batch } from '@preact/signals';
import { parseRegion } from '../io/region.ts';
import { partNames } from '../roof/part-names.ts';
import type { RecordPick, RoofRecord } from '../roof/record.ts';
import { startHistory, type History } from '../survey/history.ts';
import { refusedIds } from '../roof/refused-ids.ts';
import { optionsOfRecord, type SurveyOptions } from '../survey/survey-options.ts';
import { doSavedSteps, saveSurvey } from '../survey/saved-survey.ts';
import { buildingTargets } from '../survey/measure/snap-targets.ts';
import { CancelledError } from '../survey/task-runner.ts';
import { recordText } from '../survey/write-record.ts';
import { InputError } from '../units/input-error.ts';
import { partsOf } from '../viewer/scene.ts';
import { ChoiceActions } from './choice-actions.ts';
import { download, fileName } from './download.ts';
import type { KeptRow } from './keeping.ts';
import { pastedCorners } from './pasted-corners.ts';

const SAMPLE_NAME = 'Harbour works, sample';
const SAMPLE_ID = 'sample';
/** Longest a piece of work may hold up the page. [ms] */
const TURN_MS = 10;
/** A corner this near to the first closes a region. [px] */
const CLOSING_PIXELS = 14;

/** Opens files, records and kept surveys. */
export class OpeningActions extends ChoiceActions {
  /** Files of the survey that is shown, to survey a part of them again. */
  private files: readonly File[] = [];

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
    const [first] = files;
    if (files.length === 1 && first!.name.endsWith('.json')) return this.openRecord(first!);
    if (this.waitsFor(files)) return this.attach(files);
    const name = first!.name.replace(/\.[^.]+$/, '') + (files.length > 1 ? ` and ${files.length - 1} more` : '');
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

  /**
   * @param pointsOnly  Keeps the record that is shown, and takes only the points of what is read.
   * @returns What was measured; null when it was not, which is said.
   */
  protected async survey(files: readonly File[], name: string, id: string, pointsOnly = false, options: SurveyOptions = {}): Promise<RoofRecord | null> {
    const { store } = this;
    const stop = new AbortController();
    store.busy.value?.cancel();
    const cancel = (): void => stop.abort();
    batch(() => ([store.busy.value, store.refusedFiles.value] = [{ stage: 'reading', fraction: 0, cancel }, null]));
    const survey = {};
    let isShown = pointsOnly;
    try {
      const result = await this.engine.survey(
        files.map((file) => ({ name: file.name, where: file })),
        options,
        {
          signal: stop.signal,
          onProgress: (stage, fraction) => (store.busy.value = { stage, fraction, cancel }),
          onCloud: (cloud) =>
            batch(() => {
              if (!isShown) this.clear(name);
              isShown = true;
              store.points.value = { survey, cloud, labels: null, meshes: [], planeIds: [], surveyed: null };
            }),
        },
      );
      if (!pointsOnly) {
        await prepareScene(result.record);
        // Another survey may have been opened in between.
        if (stop.signal.aborted) throw new CancelledError();
        this.show(startHistory(result.record), id, name);
      }
      // Drawing the record and taking up the points are both work enough for one turn.
      await nextTurn();
      const { cloud, labels, planeIds, found } = result;
      store.points.value = { survey, cloud, labels, meshes: result.meshes, planeIds, surveyed: { cloud, labels, planeIds, found } };
      this.files = files;
      if (pointsOnly) return result.record;
      await this.save();
      if (id !== SAMPLE_ID) await this.keepFiles(id, files);
      this.say(surveyWords(result.record), name);
      return result.record;
    } catch (error) {
      // A region without points says nothing against the files.
      const isRegion = error instanceof InputError && options.within !== undefined && /\bregion\b/.test(error.detail);
      if (error instanceof InputError && !isRegion) store.refusedFiles.value = { files, name, options };
      this.fail(isRegion ? new InputError('Region', (error as InputError).detail) : error);
      return null;
    } finally {
      store.busy.value = null;
    }
  }

  protected async keepFiles(id: string, files: readonly File[]): Promise<void> {
    try {
      await this.keeping?.keepFiles(id, files);
    } catch {
      this.say('The record is kept here, but its points are too large for this browser to keep. Open the files again next time.');
    }
  }

  startRegion(): void {
    const { tool, view, regionCorners } = this.store;
    batch(() => ([view.value, tool.value, regionCorners.value] = ['plan', 'region', []]));
    this.say('Click its corners in plan; the first corner closes it.', 'Region.');
  }

  takeRegionCorner(pick: RecordPick): void {
    const { regionCorners, pixelsPerMetre } = this.store;
    const [first] = regionCorners.value;
    const reach = CLOSING_PIXELS / Math.max(pixelsPerMetre.value, 1e-6);
    const near = (corner: RecordPick, px: number): boolean => Math.hypot(corner.at[0] - pick.at[0], corner.at[1] - pick.at[1]) < px;
    const closes = first && regionCorners.value.length >= 3 && (near(first, reach) || near(regionCorners.value.at(-1)!, reach / CLOSING_PIXELS));
    if (closes) return void this.surveyRegion('');
    regionCorners.value = [...regionCorners.value, pick];
    const count = regionCorners.value.length;
    this.say(`${count === 1 ? '1 corner' : `${count} corners`} taken. ${count < 3 ? 'Click the next.' : 'Click on; close it at the first corner, or with a double click.'}`, 'Region.');
  }

  /** Surveys the shown files again, only inside the region: the corners drawn, or those pasted. */
  async surveyRegion(pasted: string): Promise<void> {
    const { record, regionCorners, tool, surveyName } = this.store;
    if (!record.value) return;
    if (this.files.length === 0) return this.say('The files of this survey are not open. Open them again first.');
    const [ox, oy] = record.value.frame.origin;
    // The region is read in the unit of the file, which the corners on the sheet are not.
    const unit = record.value.sources[0]?.unitToMetre ?? 1;
    const drawn = regionCorners.value.map(({ at }) => `${(at[0] + ox) / unit},${(at[1] + oy) / unit}`).join(' ');
    const name = `${surveyName.value.replace(/, a region$/, '')}, a region`;
    const within = pasted.trim() === '' ? drawn : pastedCorners(pasted);
    try {
      // Told before anything is read, so that the text can be mended where it stands.
      parseRegion(within, 'Region');
    } catch (error) {
      return this.fail(error);
    }
    batch(() => ([tool.value, regionCorners.value] = ['none', []]));
    await this.survey(this.files, name, newId(), false, { ...optionsOfRecord(record.value), within });
  }

  /** What was stated for the survey that is shown, or for the files that were refused last. */
  statedOptions(): SurveyOptions {
    const { refusedFiles, record } = this.store;
    return refusedFiles.value?.options ?? (record.value ? optionsOfRecord(record.value) : {});
  }

  /** Surveys the shown files, or those refused last, with other statements; a survey of its own. */
  async surveyAgain(options: SurveyOptions): Promise<void> {
    const { refusedFiles, surveyName } = this.store;
    const { files, name } = refusedFiles.value ?? { files: this.files, name: surveyName.value };
    if (files.length === 0) return this.say('The files of this survey are not open. Open them again first.');
    const again = refusedFiles.value || name.endsWith(', stated anew') ? name : `${name}, stated anew`;
    await this.survey(files, again, newId(), false, options);
  }

  protected clear(name: string): void {
    const { store } = this;
    batch(() => {
      store.history.value = null;
      store.surveyName.value = name;
      store.savedAt.value = null;
      store.building.value = null;
      store.selection.value = null;
      store.evidence.value = null;
      store.sectionLine.value = null;
      store.clip.value = null;
      store.tool.value = 'none';
      store.measure.value = { name: 'idle' };
    });
  }

  protected show(history: History, id: string, name: string): void {
    const { store } = this;
    batch(() => {
      this.clear(name);
      store.history.value = history;
      store.surveyId.value = id;
      store.building.value = history.record.buildings.length === 1 ? history.record.buildings[0]!.id : null;
    });
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

/** Works out what is drawn and what can be taken of each building, a few at a time: of a whole site it would hold up the page. */
async function prepareScene(record: RoofRecord): Promise<void> {
  const [names, refused] = [partNames(record), refusedIds(record)];
  let start = performance.now();
  for (const building of record.buildings) {
    partsOf(building, names, refused);
    buildingTargets(building, names, refused, record.buildings.length > 1);
    if (performance.now() - start < TURN_MS) continue;
    await nextTurn();
    start = performance.now();
  }
}

/** Whether two records were made from the same bytes. */
function haveSameSources(a: RoofRecord, b: RoofRecord): boolean {
  const sums = ({ sources }: RoofRecord): string => sources.map(({ sha256 }) => sha256).toSorted().join(' ');
  return sums(a) === sums(b);
}

/** Lets the page draw and answer before what follows. */
const nextTurn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));

const newId = (): string => `survey-${[...crypto.getRandomValues(new Uint32Array(3))].map((part) => part.toString(36)).join('-')}`;

function surveyWords(record: RoofRecord): string {
  if (record.buildings.length === 0) return 'No roof was found in it.';
  const planes = record.buildings.reduce((sum, { roofPlanes }) => sum + roofPlanes.length, 0);
  return `${record.buildings.length} ${record.buildings.length === 1 ? 'building' : 'buildings'}, ${planes} roof planes. Click a plane, an edge or a thing to read it.`;
}
