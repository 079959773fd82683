import { batch } from '@preact/signals';
import type { Vector3 } from '../geometry/vector.ts';
import { EDGE_LETTER } from '../roof/part-names.ts';
import type { Decision, EdgeKind, RoofRecord, SmallFeature } from '../roof/record.ts';
import type { SurveyCommand } from '../survey/commands.ts';
import { makeReadings } from '../survey/measure/make-readings.ts';
import { assumptionsOf } from '../survey/measure/model-parts.ts';
import { measureStep, type MeasureEvent, type MeasureTool } from '../survey/measure/measure-step.ts';
import { pinnedFeature, withVerdict } from '../survey/measure/pinned-feature.ts';
import { typedPlace } from '../survey/measure/typed-place.ts';
import { lengthUnit, shortLength } from '../units/unit-in-use.ts';
import { plainReading } from '../units/written-reading.ts';
import { readingNumber } from '../viewer/ink/measure-lines.ts';
import type { ViewName } from '../viewer/projection.ts';
import type { PartRef } from '../viewer/scene.ts';
import type { SectionLine } from '../viewer/section-cut.ts';
import { CorrectActions } from './correct-actions.ts';
import { partInTurn } from './parts-in-turn.ts';
import { smallPicture } from './small-picture.ts';
import { pointedWords } from './spoken-words.ts';
import { passesFilter } from './site-state.ts';
import { QUESTIONS, type QuestionNumber } from './questions.ts';
import type { Store } from './store.ts';
import { readingWord } from './words.ts';

/** Everything a person can do, as changes to the store: looking, measuring, correcting, deciding. */
export class Actions extends CorrectActions {
  override select(part: PartRef | null): void {
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

  /** Chooses a part that is named in a table, and shows its building where another one or the whole site stands in the picture. */
  showPart(part: PartRef): void {
    const owner = ownerOf(part, this.store.scene.value);
    if (owner && owner !== this.store.building.value) this.showBuilding(owner);
    this.select(part);
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
    batch(() => ([this.store.tool.value, this.store.correct.value] = ['measure', { name: 'idle' }]));
    this.placing.value = null;
    this.measure({ kind: 'start', tool: kind });
    this.say('Click the first place; Shift takes a bare point, Esc ends.', kind === 'outline' ? 'Draw the foot of a thing.' : `Measure ${kind.replaceAll('-', ' ')}.`);
  }

  measure(event: MeasureEvent): void {
    const { store } = this;
    const { state, finished, refusal } = measureStep(store.measure.value, event);
    store.measure.value = state;
    if (state.name === 'idle' && store.tool.value === 'measure') store.tool.value = 'none';
    if (refusal) this.say(refusal);
    const { record, targets } = store;
    if (!finished || !record.value || !targets.value) return;
    if (this.takeTapePlace(finished.picks)) return;
    if (finished.tool === 'outline') return this.addThing(finished.picks);
    const readings = makeReadings(finished.tool, finished.picks, {
      targets: targets.value,
      buildings: record.value.buildings,
      noiseM: record.value.sampling.noiseM,
      gridToTrueDeg: record.value.frame.gridToTrueDeg,
      assumptions: assumptionsOf(record.value),
      nextNumber: nextReadingNumber(record.value),
    });
    const [number, dimension] = readingNumber(readings[0]!);
    const written = number ? plainReading(number, dimension, store.units.value) : '';
    this.do(`measure ${finished.tool.replaceAll('-', ' ')}${written && `: ${written}`}`, { kind: 'several', commands: readings.map((reading) => ({ kind: 'add-reading', reading })) });
    store.selection.value = { kind: 'reading', id: readings[0]!.id };
    this.say(`${written}. Click to measure the next, Esc ends.`, `${readingWord(readings[0]!.kind)}:`);
  }

  /** A place as a person types it, for whatever is under way. @returns Whether it was taken. */
  typePlace(text: string): boolean {
    const { tool, measure, correct, toward, record, units } = this.store;
    const picks = tool.value === 'measure' && measure.value.name === 'picking' ? measure.value.picks : tool.value === 'correct' && correct.value.name === 'correcting' ? correct.value.picks : null;
    if (!picks || !record.value) return false;
    try {
      const pick = typedPlace(text, { last: picks.at(-1) ?? null, toward: toward.value, origin: record.value.frame.origin, bareM: lengthUnit(units.value).metres, fileUnitM: record.value.sources[0]?.unitToMetre ?? 1 });
      if (tool.value === 'measure') this.measure({ kind: 'pick', pick });
      else this.correct({ kind: 'pick', pick });
      return true;
    } catch (error) {
      this.fail(error);
      return false;
    }
  }

  decide(what: Decision['what'], about: string, title: string, more: Pick<Decision, 'before' | 'after' | 'why'> = {}): void {
    this.do(this.titleOf(title, this.buildingOfPart(about)?.id), { kind: 'add-decision', decision: this.decision(what, about, more) });
    this.say(`${title}. Undo brings it back.`);
  }

  /** Accepts or refuses what is chosen, where that can be. */
  judgeChosen(what: 'accept' | 'refuse'): void {
    const part = this.store.selection.value;
    if (!part) return this.say('Choose a plane, an edge or a thing first.');
    if (part.kind === 'reading') return this.say('A reading is taken away in its table.');
    this.decide(what, part.id, `${what} ${this.store.names.value.get(part.id) ?? part.id}`);
  }

  /** Chooses the next part of what is shown, or the one before. */
  stepPart(by: 1 | -1): void {
    const { record, names, building, selection } = this.store;
    const part = record.value && partInTurn(record.value, names.value, building.value, selection.value?.id ?? null, by);
    if (!part) return;
    this.select(part);
    this.store.spoken.value = pointedWords(part, this.store, true);
  }

  /** Gives the chosen edge the kind after its own. */
  nextEdgeKind(): void {
    const { selection, record, names } = this.store;
    const edge = record.value?.buildings.flatMap(({ edges }) => edges).find(({ id }) => id === selection.value?.id);
    if (!edge) return this.say('Choose an edge first.');
    const kinds = Object.keys(EDGE_LETTER) as EdgeKind[];
    this.setEdgeKind(edge.id, names.value.get(edge.id) ?? edge.id, edge.kind, kinds[(kinds.indexOf(edge.kind) + 1) % kinds.length]!);
  }

  sign(question: QuestionNumber): void {
    this.decide('sign', `q${question}`, `sign question ${question}`);
  }

  signBuilding(id: string): void {
    this.decide('sign', id, `sign for ${id}`);
  }

  removeReadings(ids: readonly string[], title: string): void {
    this.do(title, { kind: 'several', commands: ids.map((id) => ({ kind: 'remove-reading', id })) });
    this.store.selection.value = null;
    this.say(`${title}. Undo brings it back.`);
  }

  openQuestion(number: QuestionNumber): void {
    const { question, compact, sheetHeight } = this.store;
    batch(() => {
      if (compact.value && question.value === number) sheetHeight.value = sheetHeight.value === 'row' ? 'half' : sheetHeight.value === 'half' ? 'full' : 'row';
      else if (compact.value && sheetHeight.value === 'row') sheetHeight.value = 'half';
      question.value = number;
    });
    this.say(QUESTIONS[number - 1]!.explains);
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
    const all = record.value?.buildings.map(({ id }) => id) ?? [];
    const { sites, siteFilter } = this.store;
    const ids = all.length > 1 ? sites.value.filter((state) => passesFilter(state, siteFilter.value)).map(({ id }) => id) : all;
    if (ids.length === 0) return this.say(all.length === 0 ? 'There is no building.' : `No building is ${siteFilter.value}.`);
    // From a building the filter hides, on to the next one it shows.
    const place = building.value === null ? -1 : all.indexOf(building.value);
    const after = ids.filter((id) => (by > 0 ? all.indexOf(id) > place : all.indexOf(id) < place));
    const next = by > 0 ? (after[0] ?? ids[0]!) : (after.at(-1) ?? ids.at(-1)!);
    this.showBuilding(next);
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
    this.say(`strip ${shortLength(line.thicknessM, this.store.units.value)} thick. L draws another.`, 'Section A–A:');
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
    const feature = pinnedFeature(id, at, onPlane, record.value);
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
    // Another kind is no other size: what the survey judged where it stands, stays.
    const so = { ...feature, ...change };
    const changed = change.widthM || change.heightM ? withVerdict(so, record.value) : so;
    const at = record.value.smallFeatures.indexOf(feature);
    this.do(title, { kind: 'several', commands: [{ kind: 'remove-feature', id }, { kind: 'insert-feature', at, feature: changed }] });
  }

  /** The client's coarsest ground sample distance, typed in centimetres; nothing typed takes the limit away. */
  setClientLimit(text: string, why: string): void {
    const centimetres = Number(text.replace(',', '.'));
    if (text.trim() === '') {
      this.do('no limit of the client', { kind: 'set-client-limit', to: null });
      return this.say('Small things are judged without a limit of the client.');
    }
    if (!(centimetres > 0 && centimetres < 100)) return this.say(`"${text}" is no ground sample distance; write centimetres, for example 3.`);
    this.do(`client allows ${centimetres} cm per pixel`, { kind: 'set-client-limit', to: { gsdM: centimetres / 100, why } });
    this.say('Every small thing was judged again by it.', `${centimetres} cm per pixel:`);
  }

  /** Puts a picture into the record, small; nothing is sent anywhere. */
  async pinPhoto(feature: string, name: string, file: File): Promise<void> {
    try {
      const to = { feature, ...(await smallPicture(file)) };
      this.do(`picture of ${name}`, { kind: 'set-photo', feature, to });
      this.say(`${to.widthPx} × ${to.heightPx} px, kept in the record.`, `${file.name}:`);
    } catch (error) {
      this.fail(error);
    }
  }

  removePhoto(feature: string, name: string): void {
    this.do(`take the picture of ${name} away`, { kind: 'set-photo', feature, to: null });
    this.say('Undo brings it back.', `The picture of ${name} is taken away.`);
  }

  removeFeature(id: string, name: string): void {
    const hasPhoto = this.store.record.value?.photos?.some(({ feature }) => feature === id) ?? false;
    const gone: SurveyCommand[] = hasPhoto ? [{ kind: 'set-photo', feature: id, to: null }] : [];
    this.do(`take ${name} away`, { kind: 'several', commands: [...gone, { kind: 'remove-feature', id }] });
    this.select(null);
  }

  /** Ends whatever is under way: a pick, a tool, evidence, a selection, in that order. */
  escape(): void {
    const { tool, measure, correct, evidence, selection } = this.store;
    if (tool.value === 'measure' && measure.value.name === 'picking' && measure.value.picks.length > 0) return this.measure({ kind: 'back' });
    if (tool.value === 'correct' && correct.value.name === 'correcting' && correct.value.picks.length > 0) return this.correct({ kind: 'back' });
    if (tool.value !== 'none') {
      batch(() => ([tool.value, measure.value, correct.value, this.store.regionCorners.value] = ['none', { name: 'idle' }, { name: 'idle' }, []]));
      return this.say('Put away.');
    }
    const { hand, module } = this.store.fitting;
    if (hand.value === 'place') {
      hand.value = 'choose';
      return this.say('Put away.');
    }
    if (evidence.value) return void (evidence.value = null);
    if (module.value !== null) return void (module.value = null);
    if (selection.value) this.select(null);
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

function nextReadingNumber(record: RoofRecord): number {
  return 1 + record.readings.reduce((most, { id }) => Math.max(most, Number(/^m(\d+)$/.exec(id)?.[1] ?? 0)), 0);
}
