import { batch, effect } from '@preact/signals';
import { ringContains } from '../geometry/polygon.ts';
import { distanceToRing } from '../geometry/ring-distance.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { Building, Decision, EdgeKind, RecordPick, RoofPlane } from '../roof/record.ts';
import { applyCommand, type SurveyCommand } from '../survey/commands.ts';
import { correctStep, type Correction, type CorrectEvent, type CorrectTool } from '../survey/correct/correct-step.ts';
import { ownersOf } from '../survey/correct/corner-places.ts';
import { edgesAlong } from '../survey/correct/edges-along.ts';
import { followBuilding, isStale } from '../survey/correct/follow-building.ts';
import type { LabelEdit } from '../survey/correct/label-edit.ts';
import { cellsNear, placesOf, refitOrder, standingCommands, standingEdits, type OpenSurvey } from '../survey/correct/refit-order.ts';
import { shownLabels, type StandingRefit } from '../survey/correct/shown-labels.ts';
import { InputError } from '../units/input-error.ts';
import { isKnown } from '../units/measured.ts';
import { plainReading } from '../units/written-reading.ts';
import type { PartRef } from '../viewer/scene.ts';
import { CORRECT_TOOLS } from './correct-words.ts';
import { tapeReadingsOf, typedLength } from './fields.ts';
import { OpeningActions } from './opening-actions.ts';

/** A lasso this near to a building adds a plane to it; farther off it is a building of its own. [m] */
const SAME_BUILDING_M = 1.5;

interface Told {
  readonly title: string;
  readonly decision: Pick<Decision, 'what' | 'about' | 'before' | 'after'>;
  readonly select: PartRef | null;
  readonly said: string;
}

/** Corrects what was found. Each correction is one step, which derives at once what depends on it. */
export abstract class CorrectActions extends OpeningActions {
  /** Refits by building and by what was said of its points, to show the labels of any state again. */
  private readonly refits = new Map<string, StandingRefit>();
  private shown: { readonly surveyed: OpenSurvey; readonly key: string } | null = null;

  constructor(...given: ConstructorParameters<typeof OpeningActions>) {
    super(...given);
    // Steps taken back and points that arrive late: labels are shown as they stand after every correction.
    effect(() => {
      if (this.store.history.value && this.store.points.value?.surveyed) queueMicrotask(() => void this.showLabels());
    });
  }

  startCorrecting(tool: CorrectTool): void {
    const { selection, tool: shown, question } = this.store;
    const chosen = selection.value;
    const about = tool === 'reshape' ? (chosen?.kind === 'obstruction' ? chosen.id : null) : (tool === 'split' || tool === 'merge') && chosen?.kind === 'plane' ? chosen.id : null;
    batch(() => {
      shown.value = 'correct';
      this.store.measure.value = { name: 'idle' };
      if (question.value !== 2 && question.value !== 3) question.value = tool === 'reshape' || tool === 'parapet' ? 3 : 2;
      if (tool === 'lasso') this.store.view.value = 'plan';
    });
    this.correct({ kind: 'start', tool, about });
    if (this.store.correct.value.name === 'correcting') this.say(CORRECT_TOOLS[tool].next(0, about ? (this.store.names.value.get(about) ?? about) : null), `${CORRECT_TOOLS[tool].name}.`);
  }

  correct(event: CorrectEvent): void {
    const { correct, tool } = this.store;
    const held = event.kind === 'pick' && correct.value.name === 'correcting' && correct.value.tool === 'move-corner' && correct.value.picks.length === 0 ? this.planesAt(event.pick) : 0;
    if (held > 2) return this.say(`${held} planes meet here, so it is where they meet. Merge or split planes instead.`, 'That corner cannot be moved.');
    const { state, finished, refusal } = correctStep(correct.value, event);
    const before = correct.value;
    batch(() => {
      correct.value = state;
      if (state.name === 'idle' && tool.value === 'correct') tool.value = 'none';
    });
    if (refusal) return this.say(refusal);
    if (finished) return this.carryOut(finished);
    if (state.name === 'correcting' && event.kind !== 'start' && state !== before) {
      this.say(CORRECT_TOOLS[state.tool].next(state.picks.length, state.about ? (this.store.names.value.get(state.about) ?? state.about) : null));
    }
  }

  /** Takes a plane by name, as if it had been pointed at. */
  pickPlane(id: string): void {
    const plane = this.store.record.value?.buildings.flatMap(({ roofPlanes }) => roofPlanes).find((candidate) => candidate.id === id);
    if (plane) this.correct({ kind: 'pick', pick: { at: plane.outline[0]!, landedOn: 'plane', of: id, sigmaM: [0, 0, 0] } });
  }

  setEdgeKind(id: string, name: string, before: EdgeKind, after: EdgeKind): void {
    if (before === after) return;
    const building = this.buildingOfPart(id);
    if (!building) return;
    this.changeBuilding(building, [{ kind: 'set-edge-kind', edge: id, to: after }], {
      title: `kind of ${name}: ${after}`,
      decision: { what: 'correct', about: id, before, after },
      select: null,
      said: `${name} is now ${after === 'eave' || after === 'abutment' || after === 'unknown' ? 'an' : 'a'} ${after}; it was ${before}.`,
    });
  }

  /** The height of a thing as a person measured it on site; a tape is good to a centimetre there (common practice, no source). */
  setThingHeight(building: string, id: string, name: string, text: string): void {
    this.typeSize(building, name, text, (heightAboveRoofM) => ({ kind: 'set-obstruction-height', building, id, heightAboveRoofM }), id, 'height');
  }

  setParapetSize(building: string, id: string, name: string, field: 'heightAboveRoofM' | 'thicknessM', text: string): void {
    this.typeSize(building, name, text, (size) => ({ kind: 'set-parapet-size', building, id, [field]: size }), id, field === 'thicknessM' ? 'thickness' : 'height');
  }

  private typeSize(buildingId: string, name: string, text: string, command: (size: { value: number; u95: number; parts: { name: string; u95: number }[] }) => SurveyCommand, id: string, word: string): void {
    const building = this.store.record.value?.buildings.find((candidate) => candidate.id === buildingId);
    if (!building) return;
    try {
      const value = typedLength(text);
      const size = { value, u95: 0.01, parts: [{ name: 'as typed', u95: 0.01 }] };
      this.changeBuilding(building, [command(size)], { title: `${word} of ${name}`, decision: { what: 'correct', about: id, after: { [word]: value } }, select: null, said: `${word[0]!.toUpperCase()}${word.slice(1)} of ${name} is as typed.` });
    } catch (error) {
      this.fail(error);
    }
  }

  /** A thing in the way, drawn by its foot; how high it is stays open until someone says. */
  protected addThing(picks: readonly RecordPick[]): void {
    const building = this.buildingOfPicks(picks);
    if (!building) return;
    const id = `${building.id}.by-hand-${Date.now().toString(36)}`;
    batch(() => ([this.store.tool.value, this.store.measure.value] = ['none', { name: 'idle' }]));
    this.changeBuilding(building, [{ kind: 'add-obstruction', building: building.id, id, picks }], {
      title: 'draw a thing in the way', decision: { what: 'add', about: id }, select: { kind: 'obstruction', id }, said: 'Drawn. Type its height in the table, or leave it open.',
    });
  }

  private carryOut(correction: Correction): void {
    switch (correction.kind) {
      case 'move-corner':
        return this.moveCorner(correction.from, correction.to);
      case 'add-corner':
        return this.addCorner(correction.on, correction.to);
      case 'remove-corner':
        return this.removeCorner(correction.at);
      case 'reshape':
        return this.reshape(correction.thing, correction.picks);
      case 'merge':
        return void this.merge(correction.planes);
      case 'split':
        return void this.split(correction.plane ?? this.planeUnder(correction.along), correction.along);
      case 'lasso':
        return void this.lasso(correction.picks);
      case 'parapet':
        return void this.markParapet(correction.picks);
    }
  }

  private moveCorner(from: RecordPick, to: RecordPick): void {
    const building = this.buildingOfPart(from.of);
    if (!building) return this.say('That corner belongs to no building.');
    const name = this.nameOf(from.of!);
    this.changeBuilding(building, [{ kind: 'move-corner', building: building.id, from: from.at, to: to.at, sigmaM: sideways(to) }], {
      title: `move a corner of ${name}`,
      decision: { what: 'correct', about: from.of!, before: { corner: from.at }, after: { corner: to.at } },
      select: { kind: 'plane', id: from.of! },
      said: `Corner of ${name} moved; areas and lengths were derived again.`,
    });
  }

  private addCorner(on: RecordPick, to: RecordPick): void {
    const building = this.buildingOfPart(on.of);
    const edge = building?.edges.find(({ id }) => id === on.of);
    if (!building || !edge) return this.say('That edge belongs to no building.');
    const newEdge = this.freshId(building, 'e');
    const name = this.nameOf(edge.id);
    this.changeBuilding(building, [{ kind: 'bend-edge', building: building.id, edge: edge.id, at: on.at, to: to.at, sigmaM: sideways(to), newEdge }], {
      title: `add a corner to ${name}`,
      decision: { what: 'correct', about: edge.planes[0]!, before: { edge: edge.id, from: edge.from, to: edge.to }, after: { edges: [edge.id, newEdge], corner: to.at } },
      select: { kind: 'plane', id: edge.planes[0]! },
      said: `${name} has a new corner; areas and lengths were derived again.`,
    });
  }

  private removeCorner(at: RecordPick): void {
    const building = this.buildingOfPart(at.of);
    if (!building) return this.say('That corner belongs to no building.');
    const name = this.nameOf(at.of!);
    this.changeBuilding(building, [{ kind: 'remove-corner', building: building.id, at: at.at }], {
      title: `take a corner of ${name} away`,
      decision: { what: 'correct', about: at.of!, before: { corner: at.at } },
      select: { kind: 'plane', id: at.of! },
      said: `Corner of ${name} taken away; areas and lengths were derived again.`,
    });
  }

  private reshape(thing: string, picks: readonly RecordPick[]): void {
    const building = this.buildingOfPart(thing);
    const before = building?.obstructions.find(({ id }) => id === thing);
    if (!building || !before) return;
    const name = this.nameOf(thing);
    this.changeBuilding(building, [{ kind: 'reshape-obstruction', building: building.id, id: thing, picks }], {
      title: `draw the foot of ${name} again`,
      decision: { what: 'correct', about: thing, before: { footprint: before.footprint, planAreaM2: before.planAreaM2 }, after: { footprint: picks.map(({ at }) => [at[0], at[1]]) } },
      select: { kind: 'obstruction', id: thing },
      said: `Foot of ${name} drawn again; its height stays.`,
    });
  }

  private async merge(planes: readonly [string, string]): Promise<void> {
    const building = this.buildingOfPart(planes[0]);
    if (!building || building !== this.buildingOfPart(planes[1])) return this.say('They stand on two buildings, and cannot be one plane.');
    const [a, b] = planes.map((id) => this.nameOf(id));
    const old = planes.map((id) => building.roofPlanes.find((plane) => plane.id === id)!);
    await this.refit(building, { kind: 'merge', of: planes, planes: placesOf(building) }, `merge ${a} and ${b}`, old, (made) => `${a} and ${b} are one plane: ${this.planeWords(made)}`);
  }

  private async split(plane: string | null, along: readonly [Vector2, Vector2]): Promise<void> {
    const building = this.buildingOfPart(plane);
    if (!building || plane === null) return this.say('The line crosses no roof plane.');
    const name = this.nameOf(plane);
    const old = building.roofPlanes.filter(({ id }) => id === plane);
    await this.refit(building, { kind: 'split', of: plane, along, planes: placesOf(building) }, `split ${name}`, old, (made) => `${name} is two planes now: ${this.planeWords(made)}`);
  }

  private async lasso(picks: readonly RecordPick[]): Promise<void> {
    const ring = picks.map(({ at }): Vector2 => [at[0], at[1]]);
    const middle: Vector2 = [ring.reduce((sum, [x]) => sum + x, 0) / ring.length, ring.reduce((sum, [, y]) => sum + y, 0) / ring.length];
    const away = ({ outline }: Building): number => (outline.length < 3 ? Infinity : ringContains(outline, middle) ? 0 : distanceToRing(outline, middle));
    const near = (this.store.record.value?.buildings ?? []).filter((building) => away(building) < SAME_BUILDING_M).toSorted((a, b) => away(a) - away(b))[0];
    await this.refit(near ?? null, { kind: 'lasso', ring }, 'add a plane', [], (made) => `New plane: ${this.planeWords(made)}`);
  }

  private async markParapet(picks: readonly RecordPick[]): Promise<void> {
    const building = this.buildingOfPicks(picks);
    const open = this.openSurvey();
    const { history } = this.store;
    if (!building || !history.value || !open) return;
    const first = picks[0]!;
    const path = picks.map(({ at }): Vector3 => at);
    // Closed at its first place, it runs round the roof.
    if (picks.length > 3 && Math.hypot(first.at[0] - picks.at(-1)!.at[0], first.at[1] - picks.at(-1)!.at[1]) < 0.05) path[path.length - 1] = path[0]!;
    try {
      const state = history.value;
      const order = refitOrder(state, open, building.id, null);
      const { parapet } = await this.working('measuring the parapet', (signal) => this.engine.parapet(cellsNear(state, open, building.id, building.outline), order, path, signal));
      if (history.value !== state) return this.say('The roof was changed meanwhile. Draw it again.');
      const id = this.freshId(building, 'w');
      const edges = edgesAlong(building, parapet.path);
      this.changeBuilding(building, [{ kind: 'add-parapet', building: building.id, parapet: { id, ...parapet }, edges }], {
        title: 'mark a parapet',
        decision: { what: 'add', about: id, before: { edges: edges.map((edge) => building.edges.find((candidate) => candidate.id === edge)) }, after: { parapet: { id, ...parapet }, edges } },
        select: { kind: 'parapet', id },
        said: isKnown(parapet.heightAboveRoofM) ? `Parapet marked, height above roof ${plainReading(parapet.heightAboveRoofM, 'length', this.store.units.value)}.` : `Parapet marked. Its height is open, ${parapet.heightAboveRoofM.why}: type it in the table.`,
      });
    } catch (error) {
      this.fail(error);
    }
  }

  /** Points were given to other planes: the building is measured again elsewhere, then stands in one step. */
  private async refit(building: Building | null, edit: LabelEdit, title: string, old: readonly RoofPlane[], said: (made: readonly RoofPlane[]) => string): Promise<void> {
    const { history } = this.store;
    const open = this.openSurvey();
    if (!history.value || !open) return;
    const state = history.value;
    try {
      const id = building?.id ?? newBuildingId(standingCommands(state), state.base.buildings);
      const order = refitOrder(state, open, id, edit);
      const ring = [...(building?.outline ?? []), ...(edit.kind === 'lasso' ? edit.ring : [])];
      const cells = cellsNear(state, open, id, ring);
      const { refit } = await this.working('measuring the roof again', (signal) => this.engine.refit(cells, order, signal));
      if (history.value !== state) return this.say('The roof was changed meanwhile. Nothing was done; try again.');
      const made = refit.made.map((plane) => refit.building.roofPlanes.find((candidate) => candidate.id === plane)!);
      const lost = refit.lost.length > 0 ? ` Given up: ${refit.lost.join(' ')}` : '';
      this.refits.set(refitKey(id, order.edits), { refit, cells: cells.map(({ column, row }) => `${column},${row}`), ownLabels: [...order.ownLabels] });
      this.changeTo(refit.building, [{ kind: 'refit-building', edit, to: refit.building }], {
        title,
        decision: { what: old.length > 0 ? 'correct' : 'add', about: made[0]?.id ?? id, ...(old.length > 0 ? { before: { roofPlanes: old } } : {}), after: { roofPlanes: made.map(({ id: plane, pitchDeg, slopeAreaM2 }) => ({ id: plane, pitchDeg, slopeAreaM2 })), ...(refit.lost.length > 0 ? { givenUp: refit.lost } : {}) } },
        select: made[0] ? { kind: 'plane', id: made[0].id } : null,
        said: `${said(made)}${lost}`,
      });
    } catch (error) {
      this.fail(error);
    }
  }

  /** Commands on one building as a step, with all that follows from them. */
  private changeBuilding(building: Building, commands: readonly SurveyCommand[], told: Told): void {
    const { record } = this.store;
    if (!record.value) return;
    try {
      const after = applyCommand(record.value, { kind: 'several', commands }).record.buildings.find(({ id }) => id === building.id)!;
      this.changeTo(after, commands, told);
    } catch (error) {
      this.fail(error);
    }
  }

  private changeTo(after: Building, commands: readonly SurveyCommand[], { title, decision, select, said }: Told): void {
    const { record, history, why } = this.store;
    if (!record.value) return;
    const follows = followBuilding(record.value, after);
    const { tape, layout, usable, keepClear } = record.value;
    const again: SurveyCommand[] = tape ? [{ kind: 'check-tape', readings: tapeReadingsOf(history.value), toleranceM: tape.toleranceM }] : [];
    const fitted = layout !== null || usable !== null || keepClear !== null;
    // Places on a roof that is no more would be wrong; they are made again when a person asks.
    const dropped: SurveyCommand[] = fitted ? (['keepClear', 'usable', 'layout'] as const).map((part) => ({ kind: 'set-part', part, to: null })) : [];
    const reason = why.value.trim();
    const entry = this.decision(decision.what, decision.about, { ...decision, ...(reason === '' ? {} : { why: reason }) });
    this.do(title, { kind: 'several', commands: [...commands, ...follows, ...again, ...dropped, { kind: 'add-decision', decision: entry }] });
    batch(() => ([this.store.tool.value, this.store.correct.value, why.value] = ['none', { name: 'idle' }, '']));
    if (select) this.select(select);
    const readings = follows.flatMap((command) => (command.kind === 'set-reading' ? [command.reading] : []));
    const stale = readings.filter(isStale).length;
    const more = [
      readings.length - stale > 0 ? ` ${plural(readings.length - stale, 'reading')} taken again.` : '',
      stale > 0 ? ` ${plural(stale, 'reading')} stale.` : '',
      fitted ? ' Module places were taken away: place them again in question 6.' : '',
    ].join('');
    this.say(`${said}${more} Undo brings it back.`);
  }

  abstract select(part: PartRef | null): void;

  private async working<T>(stage: string, work: (signal: AbortSignal) => Promise<T>): Promise<T> {
    const { busy } = this.store;
    const stop = new AbortController();
    busy.value = { stage, fraction: 0.5, cancel: () => stop.abort() };
    try {
      return await work(stop.signal);
    } finally {
      busy.value = null;
    }
  }

  private openSurvey(): OpenSurvey | null {
    const surveyed = this.store.points.value?.surveyed;
    if (surveyed) return surveyed;
    this.say('The points of this survey are not open, and planes are made of points. Open the files it was made from.');
    return null;
  }

  /** Shows labels as they stand; those of a state that was not seen yet are made again elsewhere. */
  private async showLabels(): Promise<void> {
    const { history, points } = this.store;
    const [state, shown] = [history.value, points.value];
    if (!state || !shown?.surveyed || (state.record.corrections ?? []).length > 0) return;
    const { surveyed } = shown;
    const edited = state.record.buildings.filter(({ id }) => standingEdits(state, id).length > 0);
    const key = edited.map(({ id }) => refitKey(id, standingEdits(state, id))).join('\n');
    if (this.shown?.surveyed === surveyed ? this.shown.key === key : key === '') return;
    try {
      const standing: StandingRefit[] = [];
      for (const building of edited) standing.push(await this.standingRefit(building, surveyed));
      if (history.value !== state || points.value !== shown) return;
      this.shown = { surveyed, key };
      points.value = { ...shown, ...shownLabels(surveyed, surveyed.planeIds, standing) };
    } catch (error) {
      // The record stands as it was saved; only the colours of points are those of the survey.
      if (error instanceof InputError) return this.say('The points are shown as they were found, not as corrected.');
      this.fail(error);
    }
  }

  private async standingRefit(building: Building, open: OpenSurvey): Promise<StandingRefit> {
    const state = this.store.history.value!;
    const order = refitOrder(state, open, building.id, null);
    const key = refitKey(building.id, order.edits);
    const known = this.refits.get(key);
    if (known) return known;
    const rings = order.edits.flatMap((edit) => (edit.kind === 'lasso' ? edit.ring : []));
    const cells = cellsNear(state, open, building.id, [...building.outline, ...rings]);
    const { refit } = await this.engine.refit(cells, order, new AbortController().signal);
    const made: StandingRefit = { refit, cells: cells.map(({ column, row }) => `${column},${row}`), ownLabels: [...order.ownLabels] };
    this.refits.set(key, made);
    return made;
  }

  private planeWords(made: readonly RoofPlane[]): string {
    const { units } = this.store;
    return `${made.map(({ pitchDeg, slopeAreaM2 }) => `pitch ${plainReading(pitchDeg, 'pitch', units.value)}, ${plainReading(slopeAreaM2, 'area', units.value)}`).join('; ')}.`;
  }

  /** How many planes share the corner that was picked. */
  private planesAt({ landedOn, of, at }: RecordPick): number {
    const building = landedOn === 'corner' ? this.buildingOfPart(of) : undefined;
    return building ? ownersOf(building, at).length : 0;
  }

  private planeUnder([from, to]: readonly [Vector2, Vector2]): string | null {
    const middle: Vector2 = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
    const { record, refused } = this.store;
    return record.value?.buildings.flatMap(({ roofPlanes }) => roofPlanes).find(({ id, outline }) => !refused.value.has(id) && ringContains(outline, middle))?.id ?? null;
  }

  private nameOf(id: string): string {
    return this.store.names.value.get(id) ?? id;
  }

  private buildingOfPart(id: string | null): Building | undefined {
    return this.store.record.value?.buildings.find(({ roofPlanes, edges, obstructions, parapets }) => [roofPlanes, edges, obstructions, parapets].some((list) => list.some((part) => part.id === id)));
  }

  private buildingOfPicks(picks: readonly RecordPick[]): Building | null {
    const on = picks.map(({ of }) => this.buildingOfPart(of)).find((building) => building !== undefined);
    return on ?? this.store.currentBuilding.value;
  }

  /** An id of the kind that no part of the building ever had. */
  private freshId(building: Building, letter: string): string {
    const state = this.store.history.value!;
    const known = [...state.base.buildings, ...state.steps.flatMap(({ command }) => (command.kind === 'several' ? command.commands : [command])).flatMap((command) => (command.kind === 'refit-building' ? [command.to] : [])), building];
    const ids = known.flatMap(({ edges, parapets }) => [...edges, ...parapets].map(({ id }) => id));
    const numbers = ids.flatMap((id) => (id.startsWith(`${building.id}.${letter}`) ? [Number(id.slice(building.id.length + 1 + letter.length))] : [])).filter(Number.isFinite);
    return `${building.id}.${letter}${1 + Math.max(0, ...numbers)}`;
  }
}

const sideways = ({ sigmaM }: RecordPick): number => Math.max(sigmaM[0], sigmaM[1]);
const plural = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;
const refitKey = (building: string, edits: readonly LabelEdit[]): string => `${building} ${JSON.stringify(edits)}`;

function newBuildingId(commands: readonly SurveyCommand[], base: readonly Building[]): string {
  const ids = [...base.map(({ id }) => id), ...commands.flatMap((command) => (command.kind === 'refit-building' ? [command.to.id] : []))];
  return `b${1 + Math.max(0, ...ids.map((id) => Number(/^b(\d+)$/.exec(id)?.[1] ?? 0)))}`;
}
