import { batch } from '@preact/signals';
import type { Building, Decision, EdgeKind, RecordPick } from '../roof/record.ts';
import { applyCommand, type SurveyCommand } from '../survey/commands.ts';
import { conversionOf, DEFINITION_WORDS, type StatedConversion } from '../survey/correct/convert-edges.ts';
import { followBuilding, isStale } from '../survey/correct/follow-building.ts';
import type { PartRef } from '../viewer/scene.ts';
import { lengthUnit } from '../units/unit-in-use.ts';
import { tapeReadingsOf, typedLength } from './fields.ts';
import { OpeningActions } from './opening-actions.ts';

/** What a correction is called and what it says, beside what it does. */
export interface Told {
  readonly title: string;
  readonly decision: Pick<Decision, 'what' | 'about' | 'before' | 'after'>;
  readonly select: PartRef | null;
  readonly said: string;
}

/** Changes buildings: each change is one step, which derives at once what depends on it. */
export abstract class BuildingActions extends OpeningActions {
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

  /** Leaves out the rules that sides were drawn to, of one plane or one edge, or takes them again. */
  leaveRules(id: string, name: string, off: boolean): void {
    const building = this.buildingOfPart(id);
    if (!building) return;
    this.changeBuilding(building, [{ kind: 'leave-rules', building: building.id, id, off }], {
      title: off ? `${name} without rules` : `${name} drawn to rules`,
      decision: { what: off ? 'refuse' : 'accept', about: `${id}:rules`, after: { rules: !off } },
      select: null,
      said: off ? `${name} is drawn as measured. Undo brings the rules back.` : `${name} is drawn to rules again where its points allow it.`,
    });
  }

  /** Brings outer edges to another definition by a stated offset: areas and lengths follow, undo brings all back. @returns False when it could not be. */
  callEdges(stated: StatedConversion, why: string): boolean {
    const { record } = this.store;
    if (!record.value) return false;
    try {
      const decision = this.decision('correct', 'q2', { after: stated, why });
      const correction = conversionOf(record.value, stated, { by: decision.by, at: decision.at, why });
      this.do(`call edges ${DEFINITION_WORDS[stated.to]}`, { kind: 'several', commands: [{ kind: 'apply-correction', correction }, { kind: 'add-decision', decision }] });
      const leftOut = this.store.record.value?.corrections?.at(-1)?.leftOut ?? [];
      this.say(`Areas and lengths follow, with the ± of the offset in them.${leftOut.length > 0 ? ` ${leftOut.join(', ')} stay: their outlines would cross.` : ''} Undo brings all back.`, `${DEFINITION_WORDS[stated.to][0]!.toUpperCase()}${DEFINITION_WORDS[stated.to].slice(1)}.`);
      return true;
    } catch (error) {
      this.fail(error);
      return false;
    }
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
      const value = typedLength(text, lengthUnit(this.store.units.value).metres);
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

  /** Commands on one building as a step, with all that follows from them. */
  protected changeBuilding(building: Building, commands: readonly SurveyCommand[], told: Told): void {
    const { record } = this.store;
    if (!record.value) return;
    try {
      const after = applyCommand(record.value, { kind: 'several', commands }).record.buildings.find(({ id }) => id === building.id)!;
      this.changeTo(after, commands, told);
    } catch (error) {
      this.fail(error);
    }
  }

  protected changeTo(after: Building, commands: readonly SurveyCommand[], { title, decision, select, said }: Told): void {
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
    this.do(this.titleOf(title, after.id), { kind: 'several', commands: [...commands, ...follows, ...again, ...dropped, { kind: 'add-decision', decision: entry }] });
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

  /** What a step is called in the history: parts of several buildings have the same names, so it says on which. */
  protected titleOf(title: string, building: string | undefined): string {
    return building !== undefined && (this.store.record.value?.buildings.length ?? 0) > 1 ? `${title}, ${building}` : title;
  }

  protected nameOf(id: string): string {
    return this.store.names.value.get(id) ?? id;
  }

  protected buildingOfPart(id: string | null): Building | undefined {
    return this.store.record.value?.buildings.find(({ roofPlanes, edges, obstructions, parapets }) => [roofPlanes, edges, obstructions, parapets].some((list) => list.some((part) => part.id === id)));
  }

  protected buildingOfPicks(picks: readonly RecordPick[]): Building | null {
    const on = picks.map(({ of }) => this.buildingOfPart(of)).find((building) => building !== undefined);
    return on ?? this.store.currentBuilding.value;
  }

  /** An id of the kind that no part of the building ever had. */
  protected freshId(building: Building, letter: string): string {
    const state = this.store.history.value!;
    const known = [...state.base.buildings, ...state.steps.flatMap(({ command }) => (command.kind === 'several' ? command.commands : [command])).flatMap((command) => (command.kind === 'refit-building' ? [command.to] : [])), building];
    const ids = known.flatMap(({ edges, parapets }) => [...edges, ...parapets].map(({ id }) => id));
    const numbers = ids.flatMap((id) => (id.startsWith(`${building.id}.${letter}`) ? [Number(id.slice(building.id.length + 1 + letter.length))] : [])).filter(Number.isFinite);
    return `${building.id}.${letter}${1 + Math.max(0, ...numbers)}`;
  }
}

const plural = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;
