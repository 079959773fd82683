import { batch } from '@preact/signals';
import { ringContains } from '../geometry/polygon.ts';
import { distanceToRing } from '../geometry/ring-distance.ts';
import type { Vector2 } from '../geometry/vector.ts';
import type { Building, RecordPick, RoofPlane } from '../roof/record.ts';
import { correctStep, type Correction, type CorrectEvent, type CorrectTool } from '../survey/correct/correct-step.ts';
import { ownersOf } from '../survey/correct/corner-places.ts';
import { placesOf } from '../survey/correct/refit-order.ts';
import { isKnown } from '../units/measured.ts';
import { CORRECT_TOOLS } from './correct-words.ts';
import { RefitActions } from './refit-actions.ts';

/** A lasso this near to a building adds a plane to it; farther off it is a building of its own. [m] */
const SAME_BUILDING_M = 1.5;

/** Lower than this above the ground a plane may be a terrace or a lawn. Common practice, no source. [m] */
const LOW_M = 1;

/** Corrects what was found: what a person pointed at, step by step, becomes a correction. */
export abstract class CorrectActions extends RefitActions {
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
    await this.refit(near ?? null, { kind: 'lasso', ring }, 'add a plane', [], (made, of) => `New plane: ${this.planeWords(made)}${made.some((plane) => isNearGround(plane, of)) ? ' It lies hardly above the ground: is it a roof?' : ''}`);
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
}

function isNearGround({ outline }: RoofPlane, { groundElevationM }: Building): boolean {
  const lowest = outline.reduce((low, corner) => Math.min(low, corner[2]), Infinity);
  return isKnown(groundElevationM) && lowest - groundElevationM.value < LOW_M;
}

const sideways = ({ sigmaM }: RecordPick): number => Math.max(sigmaM[0], sigmaM[1]);
