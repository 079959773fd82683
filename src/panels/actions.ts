import { batch } from '@preact/signals';
import { InputError } from '../units/input-error.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { Decision, EdgeKind, RecordPick, RoofRecord, SmallFeature } from '../roof/record.ts';
import type { SurveyCommand } from '../survey/commands.ts';
import { canRedo, canUndo, doStep, redo, startHistory, undo, type History } from '../survey/history.ts';
import { makeReadings } from '../survey/measure/make-readings.ts';
import { measureStep, type MeasureEvent, type MeasureTool } from '../survey/measure/measure-step.ts';
import { openSavedSurvey, saveSurvey } from '../survey/saved-survey.ts';
import { CancelledError } from '../survey/task-runner.ts';
import { parseRecord } from '../survey/validate-record.ts';
import { recordText } from '../survey/write-record.ts';
import { plainReading, type UnitChoice } from '../units/written-reading.ts';
import type { ViewName } from '../viewer/projection.ts';
import type { PartRef } from '../viewer/scene.ts';
import type { SectionLine } from '../viewer/section-cut.ts';
import { readingNumber } from '../viewer/ink/measure-lines.ts';
import type { HandoverKind } from '../handover/handover-kind.ts';
import { readTapeList } from '../io/tape-list.ts';
import type { TapeReading } from '../site/tape-reading.ts';
import { DEFAULT_TOLERANCE } from '../survey/tape/check-tape.ts';
import { tapeReadingsOf, typedReading, type Tapeable } from './fields.ts';
import type { Engine } from './engine.ts';
import type { KeptSurvey, SurveyKeeping } from './keeping.ts';
import type { QuestionNumber } from './questions.ts';
import { download } from './download.ts';
import { pinnedFeature, withVerdict } from '../survey/measure/pinned-feature.ts';
import { readingWord } from './words.ts';
import type { PaperName, Store } from './store.ts';

const SAMPLE_NAME = 'Harbour works, sample';
const SAMPLE_ID = 'sample';

/** Everything a person can do, as changes to the store. */
export class Actions {
  private saving: Promise<void> = Promise.resolve();

  constructor(readonly store: Store, private readonly engine: Engine, private readonly keeping: SurveyKeeping | null) {}

  /** Opens what was open last; the sample on a first visit. */
  async begin(): Promise<void> {
    const last = await this.keeping?.chosen('open');
    const kept = (await this.keeping?.list())?.find(({ id }) => id === last);
    if (kept) await this.openKept(kept);
    else await this.openSample();
  }

  async openSample(): Promise<void> {
    await this.survey([await this.engine.sample()], SAMPLE_NAME, SAMPLE_ID);
  }

  /** Files that were dropped or chosen: a record alone is opened as one, anything else is surveyed together. */
  async openFiles(files: readonly File[]): Promise<void> {
    if (files.length === 0) return;
    const [first] = files;
    if (files.length === 1 && first!.name.endsWith('.json')) return this.openRecord(first!);
    const name = first!.name.replace(/\.[^.]+$/, '') + (files.length > 1 ? ` and ${files.length - 1} more` : '');
    await this.survey(files, name, newId());
  }

  /** Opens a kept survey: its record and steps at once, its points as soon as they are read again. */
  async openKept({ id, saved }: KeptSurvey): Promise<void> {
    try {
      this.show(openSavedSurvey(saved), id, saved.name);
      this.store.savedAt.value = saved.savedAt;
    } catch (error) {
      return this.fail(error);
    }
    await this.keeping?.choose('open', id);
    const files = id === SAMPLE_ID ? [await this.engine.sample()] : await (this.keeping?.filesOf(id) ?? []);
    if (files.length > 0) await this.survey(files, saved.name, id, true);
    else this.say('The points of this survey are not on this machine. Open its files again to see them.');
  }

  private async openRecord(file: File): Promise<void> {
    try {
      const record = parseRecord(await file.text(), file.name);
      this.store.points.value = null;
      this.show(startHistory(record), newId(), file.name.replace(/\.json$/, ''));
      await this.save();
      this.say('Record opened. Open the files it was made from to see points.', file.name);
    } catch (error) {
      this.fail(error);
    }
  }

  /** @param pointsOnly  Keeps the record that is shown, and takes only the points of what is read. */
  private async survey(files: readonly File[], name: string, id: string, pointsOnly = false): Promise<void> {
    const { store } = this;
    const stop = new AbortController();
    store.busy.value?.cancel();
    const cancel = (): void => stop.abort();
    store.busy.value = { stage: 'reading', fraction: 0, cancel };
    try {
      const result = await this.engine.survey(
        files.map((file) => ({ name: file.name, where: file })),
        {},
        {
          signal: stop.signal,
          onProgress: (stage, fraction) => (store.busy.value = { stage, fraction, cancel }),
          onCloud: (cloud) => {
            if (!pointsOnly) this.clear(name);
            store.points.value = { cloud, labels: null, planeIds: [] };
          },
        },
      );
      batch(() => {
        store.points.value = { cloud: result.cloud, labels: result.labels, planeIds: result.planeIds };
        if (!pointsOnly) this.show(startHistory(result.record), id, name);
      });
      if (pointsOnly) return;
      await this.save();
      if (id !== SAMPLE_ID) await this.keepFiles(id, files);
      this.say(surveyWords(result.record), name);
    } catch (error) {
      this.fail(error);
    } finally {
      store.busy.value = null;
    }
  }

  private async keepFiles(id: string, files: readonly File[]): Promise<void> {
    try {
      await this.keeping?.keepFiles(id, files);
    } catch {
      this.say('The record is kept here, but its points are too large for this browser to keep. Open the files again next time.');
    }
  }

  private clear(name: string): void {
    const { store } = this;
    batch(() => {
      store.history.value = null;
      store.surveyName.value = name;
      store.savedAt.value = null;
      store.building.value = null;
      store.selection.value = null;
      store.evidence.value = null;
      store.sectionLine.value = null;
      store.tool.value = 'none';
      store.measure.value = { name: 'idle' };
    });
  }

  private show(history: History, id: string, name: string): void {
    const { store } = this;
    batch(() => {
      this.clear(name);
      store.history.value = history;
      store.surveyId.value = id;
      store.building.value = history.record.buildings.length === 1 ? history.record.buildings[0]!.id : null;
    });
  }

  /** Does a command, says it and saves it. */
  do(title: string, command: SurveyCommand): void {
    const { history } = this.store;
    if (!history.value) return;
    history.value = doStep(history.value, { title, at: new Date().toISOString(), command });
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

  private forgetGone(): void {
    const { selection, names, evidence } = this.store;
    if (selection.value && !names.value.has(selection.value.id)) batch(() => ([selection.value, evidence.value] = [null, null]));
  }

  /** Saves the shown survey; saves stand in a row, so that a later state never loses to an earlier one. */
  private save(): Promise<void> {
    const { history, surveyId, surveyName, savedAt } = this.store;
    const [state, id] = [history.value, surveyId.value];
    if (!state || !id) return this.saving;
    const time = new Date().toISOString();
    const saved = saveSurvey(surveyName.value, time, state);
    this.saving = this.saving.then(async () => {
      if (!this.keeping) return this.say('This browser keeps nothing. Save the record as a file before you close the page.');
      try {
        await this.keeping.save({ id, saved });
        await this.keeping.choose('open', id);
        if (surveyId.value === id) savedAt.value = time;
      } catch (error) {
        this.say(`Not saved: ${error instanceof Error ? error.message : String(error)}. Save the record as a file.`);
      }
    });
    return this.saving;
  }

  keptSurveys(): Promise<readonly KeptSurvey[]> {
    return this.keeping?.list() ?? Promise.resolve([]);
  }

  async forget(id: string): Promise<void> {
    await this.keeping?.remove(id);
  }

  saveRecordFile(): void {
    const { record, surveyName } = this.store;
    if (!record.value) return;
    const name = `${fileName(surveyName.value)}.record.json`;
    download(name, 'application/json', recordText(record.value));
    this.say('Record saved as a file.', name);
  }

  select(part: PartRef | null): void {
    const { selection, evidence, building, scene, question, view } = this.store;
    batch(() => {
      selection.value = part;
      if (!part) return void (evidence.value = null);
      const owner = ownerOf(part, scene.value);
      if (owner) building.value = owner;
      if (evidence.value && !evidence.value.startsWith(`${part.id}:`)) evidence.value = null;
      const wanted = QUESTION_OF[part.kind];
      if (wanted && view.value) question.value = wanted;
    });
  }

  /** Opens a number's evidence, or closes it when it is open. */
  showEvidence(part: PartRef, field: string): void {
    const { evidence } = this.store;
    const key = `${part.id}:${field}`;
    const opens = evidence.value !== key;
    this.select(part);
    evidence.value = opens ? key : null;
  }

  startMeasuring(kind: MeasureTool): void {
    this.store.tool.value = 'measure';
    this.measure({ kind: 'start', tool: kind });
    this.say('Click the first place; Shift takes a bare point, Esc ends.', `Measure ${kind.replaceAll('-', ' ')}.`);
  }

  measure(event: MeasureEvent): void {
    const { store } = this;
    const { state, finished, refusal } = measureStep(store.measure.value, event);
    store.measure.value = state;
    if (state.name === 'idle' && store.tool.value === 'measure') store.tool.value = 'none';
    if (refusal) this.say(refusal);
    const { record, targets } = store;
    if (!finished || !record.value || !targets.value) return;
    const readings = makeReadings(finished.tool, finished.picks, {
      targets: targets.value,
      noiseM: record.value.sampling.noiseM,
      gridToTrueDeg: record.value.frame.gridToTrueDeg,
      nextNumber: nextReadingNumber(record.value),
    });
    this.do(`measure ${finished.tool.replaceAll('-', ' ')}`, { kind: 'several', commands: readings.map((reading) => ({ kind: 'add-reading', reading })) });
    store.selection.value = { kind: 'reading', id: readings[0]!.id };
    const [number, dimension] = readingNumber(readings[0]!);
    this.say(`${number ? plainReading(number, dimension, store.units.value) : ''}. Click to measure the next, Esc ends.`, `${readingWord(readings[0]!.kind)}:`);
  }

  decide(what: Decision['what'], about: string, title: string, more: Pick<Decision, 'before' | 'after' | 'why'> = {}): void {
    this.do(title, { kind: 'add-decision', decision: this.decision(what, about, more) });
    this.say(`${title}. Undo brings it back.`);
  }

  private decision(what: Decision['what'], about: string, more: Pick<Decision, 'before' | 'after' | 'why'> = {}): Decision {
    return { at: new Date().toISOString(), by: this.store.initials.value || 'not signed in', what, about, ...more };
  }

  setEdgeKind(id: string, name: string, before: EdgeKind, after: EdgeKind): void {
    if (before === after) return;
    const commands: SurveyCommand[] = [{ kind: 'set-edge-kind', edge: id, to: after }, { kind: 'add-decision', decision: this.decision('correct', id, { before, after }) }];
    this.do(`kind of ${name}: ${after}`, { kind: 'several', commands });
    this.say(`${name} is now ${after === 'eave' || after === 'abutment' || after === 'unknown' ? 'an' : 'a'} ${after}; it was ${before}.`);
  }

  removeReadings(ids: readonly string[], title: string): void {
    this.do(title, { kind: 'several', commands: ids.map((id) => ({ kind: 'remove-reading', id })) });
    this.store.selection.value = null;
    this.say(`${title}. Undo brings it back.`);
  }

  sign(question: QuestionNumber): void {
    this.decide('sign', `q${question}`, `sign question ${question}`);
  }

  setInitials(initials: string): void {
    this.store.initials.value = initials;
    void this.keeping?.choose('initials', initials);
  }

  choosePaper(paper: PaperName): void {
    this.store.paper.value = paper;
    void this.keeping?.choose('paper', paper);
  }

  chooseUnits(units: UnitChoice): void {
    this.store.units.value = units;
    void this.keeping?.choose('units', units);
  }

  /** Brings back paper, units and initials of the last visit. */
  async restoreChoices(): Promise<void> {
    const [paper, units, initials] = await Promise.all(['paper', 'units', 'initials'].map((key) => this.keeping?.chosen(key)));
    batch(() => {
      if (paper === 'film' || paper === 'vandyke') this.store.paper.value = paper;
      if (isUnitChoice(units)) this.store.units.value = units;
      if (typeof initials === 'string') this.store.initials.value = initials;
    });
  }

  openQuestion(number: QuestionNumber): void {
    const { question, compact, sheetHeight } = this.store;
    batch(() => {
      if (compact.value && question.value === number) sheetHeight.value = sheetHeight.value === 'row' ? 'half' : sheetHeight.value === 'half' ? 'full' : 'row';
      else if (compact.value && sheetHeight.value === 'row') sheetHeight.value = 'half';
      question.value = number;
    });
  }

  showView(name: ViewName): void {
    this.store.view.value = name;
    if (name === 'section' && !this.store.sectionLine.value) this.say('Draw a line in plan to cut elsewhere: press L, then two places.', 'First section, through the middle.');
  }

  /** Shows one building, or the whole site. */
  showBuilding(id: string | null): void {
    batch(() => {
      this.store.building.value = id;
      this.store.selection.value = null;
      this.store.evidence.value = null;
      // A section belongs to the building it was first laid through.
      this.store.sectionLine.value = null;
    });
    this.store.fitAsked.value++;
  }

  stepBuilding(by: number): void {
    const { record, building } = this.store;
    const ids = record.value?.buildings.map(({ id }) => id) ?? [];
    if (ids.length === 0) return;
    const at = building.value === null ? (by > 0 ? -1 : 0) : ids.indexOf(building.value);
    this.showBuilding(ids[(at + by + ids.length) % ids.length]!);
  }

  drawSection(): void {
    batch(() => {
      this.store.view.value = 'plan';
      this.store.tool.value = 'section';
    });
    this.say('Click where it starts, then where it ends. Esc leaves it.', 'Section line.');
  }

  cutAlong(line: SectionLine): void {
    batch(() => {
      this.store.sectionLine.value = line;
      this.store.tool.value = 'none';
      this.store.view.value = 'section';
    });
    this.say(`strip ${(line.thicknessM * 100).toFixed(0)} cm thick. L draws another.`, 'Section A–A:');
  }

  startCorner(): void {
    batch(() => {
      this.store.tool.value = 'corner';
      this.store.cornerTaken.value = null;
    });
    this.say('Click the corner, then where it belongs. It stays on its plane, or on the line of two.', 'Move a corner.');
  }

  /** First take: which corner. Second: where it belongs. */
  takeCorner(pick: RecordPick): void {
    const { cornerTaken, tool, record } = this.store;
    const owner = record.value?.buildings.find(({ roofPlanes }) => roofPlanes.some(({ id }) => id === pick.of));
    if (!cornerTaken.value) {
      if (pick.landedOn !== 'corner' || !owner) return this.say('That is no outline corner. Click one.');
      cornerTaken.value = pick;
      return this.say('Now click where it belongs. Esc leaves it as it is.', 'Taken.');
    }
    const from = cornerTaken.value;
    const building = record.value?.buildings.find(({ roofPlanes }) => roofPlanes.some(({ id }) => id === from.of));
    if (!building) return;
    const sigmaM = Math.max(pick.sigmaM[0], pick.sigmaM[1]);
    const name = this.store.names.value.get(from.of!) ?? from.of!;
    try {
      this.do(`move a corner of ${name}`, {
        kind: 'several',
        commands: [
          { kind: 'move-corner', building: building.id, from: from.at, to: pick.at, sigmaM },
          { kind: 'add-decision', decision: this.decision('correct', from.of!, { before: { corner: from.at }, after: { corner: pick.at } }) },
        ],
      });
      batch(() => ([tool.value, cornerTaken.value] = ['none', null]));
      this.select({ kind: 'plane', id: from.of! });
      this.say(`Corner of ${name} moved; areas and lengths were derived again. Undo brings it back.`);
    } catch (error) {
      cornerTaken.value = null;
      this.fail(error);
    }
  }

  startPin(): void {
    this.store.tool.value = 'pin';
    this.say('Click where it stands. Esc leaves it.', 'Pin a small thing.');
  }

  /** Pins a small feature of a person's; its size is not measured, and nothing is said of it that is not known. */
  pinAt(at: Vector3, onPlane: string | null): void {
    const { record, tool } = this.store;
    if (!record.value) return;
    const id = `f${1 + record.value.smallFeatures.length}-${Date.now().toString(36)}`;
    const feature = pinnedFeature(id, at, onPlane, record.value.sampling);
    tool.value = 'none';
    this.do('pin a small thing', { kind: 'add-feature', feature });
    this.select({ kind: 'feature', id });
    this.say('Say what it is and how wide; the survey says whether it can show it.', 'Pinned.');
  }

  /** Replaces a pinned feature by one with other kind or size, as one step. */
  changeFeature(id: string, change: Partial<SmallFeature>, title: string): void {
    const { record } = this.store;
    const feature = record.value?.smallFeatures.find((candidate) => candidate.id === id);
    if (!feature || !record.value) return;
    const changed = withVerdict({ ...feature, ...change }, record.value.sampling);
    const at = record.value.smallFeatures.indexOf(feature);
    this.do(title, { kind: 'several', commands: [{ kind: 'remove-feature', id }, { kind: 'insert-feature', at, feature: changed }] });
  }

  removeFeature(id: string, name: string): void {
    this.do(`take ${name} away`, { kind: 'remove-feature', id });
    this.select(null);
  }

  /** Enters what the tape said, and checks all readings again. */
  enterTape(what: Tapeable, text: string): void {
    const { history, record, initials } = this.store;
    if (!record.value) return;
    const so = tapeReadingsOf(history.value);
    try {
      const number = 1 + so.reduce((most, { id }) => Math.max(most, Number(/^T(\d+)$/.exec(id)?.[1] ?? 0)), 0);
      const reading = typedReading(what, text, number, initials.value, new Date().toISOString(), record.value.frame.origin);
      this.checkTape(`enter tape ${reading.id}`, [...so, reading]);
    } catch (error) {
      this.fail(error);
    }
  }

  /** Takes the readings of a file, after those that stand already. */
  async openTapeList(file: File): Promise<void> {
    try {
      const { readings, faults } = readTapeList(await file.text(), file.name);
      this.checkTape(`tape list ${file.name}`, [...tapeReadingsOf(this.store.history.value), ...readings]);
      if (faults.length > 0) this.say(`${faults[0]}. ${faults.length > 1 ? `${faults.length} rows were` : 'The row was'} left out.`, `${file.name}:`);
    } catch (error) {
      this.fail(error);
    }
  }

  removeTape(id: string): void {
    const kept = tapeReadingsOf(this.store.history.value).filter((reading) => reading.id !== id);
    this.checkTape(`take tape ${id} away`, kept);
  }

  private checkTape(title: string, readings: readonly TapeReading[]): void {
    try {
      this.do(title, { kind: 'check-tape', readings, toleranceM: this.store.record.value?.tape?.toleranceM ?? DEFAULT_TOLERANCE });
    } catch (error) {
      return this.fail(error);
    }
    const tape = this.store.record.value?.tape;
    this.say(tape ? `${tape.readings.length} readings: ${tape.verdict}.` : 'No tape reading is left.', 'Tape');
  }

  /** Keep-clear zones, usable area and module places under the chosen rules, in another thread. */
  async fit(flags: Readonly<Record<string, string>>): Promise<void> {
    const { record, busy } = this.store;
    if (!record.value) return;
    const stop = new AbortController();
    const cancel = (): void => stop.abort();
    const show = (fraction: number): void => void (busy.value = { stage: 'placing modules', fraction, cancel });
    show(0);
    try {
      const asked = record.value;
      const { keepClear, usable, layout } = await this.engine.fit(asked, flags, { signal: stop.signal, onProgress: show });
      this.do('place modules', {
        kind: 'several',
        commands: [{ kind: 'set-part', part: 'keepClear', to: keepClear }, { kind: 'set-part', part: 'usable', to: usable }, { kind: 'set-part', part: 'layout', to: layout }],
      });
      this.say('Local code and a licensed person decide about setbacks and fire access.', layout ? `${layout.count} modules.` : 'Usable area.');
    } catch (error) {
      this.fail(error);
    } finally {
      busy.value = null;
    }
  }

  /** Writes one kind of file and hands it to the browser; the writers are loaded when first needed. */
  async handOver(kind: HandoverKind): Promise<void> {
    const { record, surveyName } = this.store;
    if (!record.value) return;
    try {
      const { handover } = await import('../handover/handover.ts');
      const files = await handover(record.value, [kind], { name: fileName(surveyName.value), site: surveyName.value });
      for (const file of files) download(file.name, file.mediaType, file.bytes);
      this.do(`hand over ${kind}`, { kind: 'add-decision', decision: this.decision('note', 'q7', { after: files.map(({ name }) => name), why: 'handed over' }) });
      this.say(`${files.map(({ name }) => name).join(', ')}.`, 'Handed over:');
    } catch (error) {
      this.fail(error);
    }
  }

  /** Ends whatever is under way: a pick, a tool, evidence, a selection, in that order. */
  escape(): void {
    const { tool, measure, evidence, selection } = this.store;
    if (tool.value === 'measure' && measure.value.name === 'picking' && measure.value.picks.length > 0) return this.measure({ kind: 'back' });
    if (tool.value !== 'none') {
      batch(() => ([tool.value, measure.value, this.store.cornerTaken.value] = ['none', { name: 'idle' }, null]));
      return this.say('Put away.');
    }
    if (evidence.value) return void (evidence.value = null);
    if (selection.value) this.select(null);
  }

  say(text: string, strong?: string): void {
    this.store.spoken.value = strong === undefined ? { text } : { strong, text };
  }

  fail(error: unknown): void {
    if (error instanceof CancelledError) return this.say('Stopped. Nothing was changed.');
    if (error instanceof InputError) return this.say(error.message.replace(`${error.subject}: `, ''), `${error.subject}:`);
    this.say(`This is our fault, not yours: ${error instanceof Error ? error.message : String(error)}`);
    console.error(error);
  }
}

const QUESTION_OF: Readonly<Record<PartRef['kind'], QuestionNumber | null>> = {
  plane: 2, edge: 2, reading: 2, obstruction: 3, parapet: 3, 'low-point': 4, feature: 4,
};

function ownerOf(part: PartRef, scene: Store['scene']['value']): string | null {
  const lists = [scene?.planes, scene?.edges, scene?.things, scene?.parapets, scene?.lowPoints];
  for (const list of lists) {
    const found = list?.find(({ id }) => id === part.id);
    if (found) return found.building;
  }
  return null;
}

const fileName = (survey: string): string => survey.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '').toLowerCase() || 'roof';

function isUnitChoice(value: unknown): value is UnitChoice {
  const choice = value as Partial<UnitChoice> | undefined;
  return ['m', 'mm', 'ft-in'].includes(choice?.length ?? '') && ['deg', 'percent', 'in-12'].includes(choice?.pitch ?? '');
}

const newId = (): string => `survey-${[...crypto.getRandomValues(new Uint32Array(3))].map((part) => part.toString(36)).join('-')}`;

function nextReadingNumber(record: RoofRecord): number {
  return 1 + record.readings.reduce((most, { id }) => Math.max(most, Number(/^m(\d+)$/.exec(id)?.[1] ?? 0)), 0);
}

function surveyWords(record: RoofRecord): string {
  const planes = record.buildings.reduce((sum, { roofPlanes }) => sum + roofPlanes.length, 0);
  return `${record.buildings.length} ${record.buildings.length === 1 ? 'building' : 'buildings'}, ${planes} roof planes. Click a plane, an edge or a thing to read it.`;
}
