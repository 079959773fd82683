import { batch } from '@preact/signals';
import { parseRegion } from '../io/region.ts';
import { partNames } from '../roof/part-names.ts';
import type { RecordPick, RoofRecord } from '../roof/record.ts';
import { startHistory, type History } from '../survey/history.ts';
import { refusedIds } from '../roof/refused-ids.ts';
import { optionsOfRecord, type SurveyOptions } from '../survey/survey-options.ts';
import { buildingTargets } from '../survey/measure/snap-targets.ts';
import { CancelledError } from '../survey/task-runner.ts';
import { InputError } from '../units/input-error.ts';
import { partsOf } from '../viewer/scene.ts';
import { ChoiceActions } from './choice-actions.ts';
import { nextTurn } from './next-turn.ts';
import { pastedCorners } from './pasted-corners.ts';

/** The survey that comes with the page is kept under this. */
export const SAMPLE_ID = 'sample';
/** Longest a piece of work may hold up the page. [ms] */
const TURN_MS = 10;
/** A corner this near to the first closes a region. [px] */
const CLOSING_PIXELS = 14;

/** A cloud up to this many points is kept while another is read in its place. */
const MOST_KEPT = 8_000_000;

/** Has files surveyed and shows what was made of them: all of them, a region alone, or with other statements. */
export class SurveyActions extends ChoiceActions {
  /** Files of the survey that is shown, to survey a part of them again. */
  private files: readonly File[] = [];

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
    let putBack = (): void => {};
    try {
      const result = await this.engine.survey(
        files.map((file) => ({ name: file.name, where: file })),
        options,
        {
          signal: stop.signal,
          onProgress: (stage, fraction) => (store.busy.value = { stage, fraction, cancel }),
          onCloud: (cloud) =>
            batch(() => {
              if (!isShown) {
                putBack = this.keepShown();
                this.clear(name);
              }
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
      // Another survey may have been opened in between; then that one is shown.
      if (store.points.value?.survey === survey) putBack();
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

  /**
   * Keeps what is shown, for the case that the survey that takes its place comes to nothing.
   *
   * @returns What puts it back. Points beyond `MOST_KEPT` are let go, as two such clouds would not fit in memory.
   */
  private keepShown(): () => void {
    const { history, surveyName, savedAt, building, points } = this.store;
    const [shown, name, saved, one] = [history.value, surveyName.value, savedAt.value, building.value];
    const cloud = (points.value?.cloud.pointCount ?? 0) <= MOST_KEPT ? points.value : null;
    return () => {
      batch(() => {
        this.clear(name);
        [history.value, savedAt.value, building.value, points.value] = [shown, saved, one, cloud];
      });
    };
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
}

/** Works out what is drawn and what can be taken of each building, a few at a time: of a whole site it would hold up the page. */
export async function prepareScene(record: RoofRecord): Promise<void> {
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

/** Lets the page draw and answer before what follows. */

/** An id for a survey of its own. */
export const newId = (): string => `survey-${[...crypto.getRandomValues(new Uint32Array(3))].map((part) => part.toString(36)).join('-')}`;

function surveyWords(record: RoofRecord): string {
  if (record.buildings.length === 0) return 'No roof was found in it.';
  const planes = record.buildings.reduce((sum, { roofPlanes }) => sum + roofPlanes.length, 0);
  return `${record.buildings.length} ${record.buildings.length === 1 ? 'building' : 'buildings'}, ${planes} roof planes. Click a plane, an edge or a thing to read it.`;
}
