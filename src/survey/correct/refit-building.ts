import { remeasureBuilding, type LabelledBuilding, type LabelledCloudCell, type RemeasuredBuilding } from '../../find/remeasure-building.ts';
import { groundElevation } from '../../find/buildings/ground-elevation.ts';
import type { GroundModel } from '../../find/segmentation.ts';
import type { Building, RoofPlane } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import type { SurveyCommand } from '../commands.ts';
import type { Vector3 } from '../../geometry/vector.ts';
import { correctBuilding } from './apply-correction.ts';
import { changeBuilding, withKind, type BuildingCommand } from './building-command.ts';
import { ringsOf } from './corner-places.ts';
import { keepNames } from './keep-names.ts';
import { applyLabelEdit, type LabelEdit } from './label-edit.ts';
import { cellsOf, patchOf, planeRows } from './label-patch.ts';
import type { Move } from './move-model.ts';

/** The points of one building as the survey labelled them, and everything that was said of them since. */
export interface RefitOrder extends Omit<LabelledBuilding, 'cells'> {
  /** Every edit that stands, oldest first; the last one is new. */
  readonly edits: readonly LabelEdit[];
  /** What hands changed of the building since the survey, and corrections of the whole model, oldest first: done again on what is measured now. */
  readonly byHand: readonly SurveyCommand[];
  /** The building as it stands, with its places where they were measured; null for one that is new. */
  readonly before: Building | null;
  /** The building as the survey left it. */
  readonly surveyed: Building | null;
  readonly taken: readonly string[];
  readonly ground: GroundModel;
  /** What corrections did to the places of the whole model, oldest first. */
  readonly moves: readonly Move[];
}

export interface Refit {
  readonly building: Building;
  /** Planes the last edit made. */
  readonly made: readonly string[];
  /** What a hand had changed and could not be done again: one sentence each. */
  readonly lost: readonly string[];
  /** Labels cell by cell, in the order of the cells given. */
  readonly labels: readonly Uint16Array[];
  readonly planes: Float64Array;
  /** Record id of the plane of each of the building's labels. */
  readonly planeIds: readonly (readonly [label: number, plane: string])[];
}

/**
 * Measures a building again after a person said which points make a plane: the edits are done on the labels the survey
 * gave, everything is derived by the survey's own code, parts keep their ids, and what hands changed is done again.
 *
 * @throws InputError when the points do not allow the last edit.
 */
export function refitBuilding(order: RefitOrder, cells: readonly LabelledCloudCell[]): Refit {
  const patch = patchOf(cells, order.planes, order.ownLabels, order.noise);
  let made: number[] = [];
  for (const edit of order.edits) made = applyLabelEdit(patch, edit);
  const labelled = cellsOf(patch, cells);
  const planes = planeRows(patch);
  const measured = remeasureBuilding({ ...order, cells: labelled, planes, ownLabels: patch.own, drawn: patch.drawn, madeLabels: patch.madeLabels });
  if (!measured) throw new InputError('points', 'no roof is left of this building.');
  const { building, nameOf } = named(measured.building, order);
  const planesMade = made.map((label) => (measured.planesOf.get(label) ?? []).map(nameOf));
  checkMade(order.edits.at(-1), planesMade, measured);
  const { changed, lost } = doneAgain(building, order);
  return {
    building: changed,
    made: planesMade.flat(),
    lost,
    labels: labelled.map(({ labels }) => labels),
    planes,
    planeIds: [
      ...[...measured.planesOf].flatMap(([label, [first]]) => (first === undefined ? [] : [[label, nameOf(first)] as const])),
      ...[...measured.takenOf].flatMap(([label, plane]) => (measured.planesOf.has(label) ? [] : [[label, nameOf(plane)] as const])),
    ],
  };
}

/** The building with the ids its parts had, in this correction or in the survey. */
function named(fresh: Building, { before, surveyed, taken, ground }: RefitOrder): { building: Building; nameOf: (id: string) => string } {
  const groundElevationM = before?.groundElevationM ?? groundElevation(ground, fresh.outline);
  const building = before ? keepNames({ ...fresh, groundElevationM }, before, surveyed, new Set(taken)) : { ...fresh, groundElevationM };
  const byPlace = new Map(building.roofPlanes.map((plane) => [placeKey(plane), plane.id]));
  const names = new Map(fresh.roofPlanes.map((plane) => [plane.id, byPlace.get(placeKey(plane))!]));
  return { building, nameOf: (id) => names.get(id) ?? id };
}

/** Names change, outlines do not. */
const placeKey = ({ outline }: RoofPlane): string => outline.map((corner) => corner.join(' ')).join(';');

function checkMade(edit: LabelEdit | undefined, made: readonly (readonly string[])[], { building }: RemeasuredBuilding): void {
  if (!edit) return;
  const count = made.map((planes) => planes.length);
  if (edit.kind === 'merge' && count[0] !== 1) {
    throw new InputError('planes', count[0] === 0 ? 'nothing is left of them when they are one.' : 'they do not touch: one plane cannot be in two places.');
  }
  if (edit.kind === 'split' && count.some((planes) => planes === 0)) throw new InputError('line', 'one side of it is too small to be a plane.');
  if (edit.kind === 'lasso' && count[0] === 0) throw new InputError('lasso', `what lies in it is too small for a plane (${building.roofPlanes.length} others stand).`);
}

function doneAgain(building: Building, { byHand, gridToTrue }: Pick<RefitOrder, 'byHand' | 'gridToTrue'>): { changed: Building; lost: string[] } {
  let changed = building;
  const lost: string[] = [];
  for (const command of byHand) {
    try {
      if (command.kind === 'apply-correction') changed = correctBuilding(changed, command.correction, (gridToTrue * 180) / Math.PI);
      else if (command.kind === 'set-edge-kind') changed = withKind(changed, command.edge, command.to);
      else if ('building' in command && command.kind !== 'insert-building') changed = changeBuilding(changed, atCorners(changed, command));
    } catch (error) {
      lost.push(`${HAND_WORDS[command.kind] ?? command.kind}: ${error instanceof Error ? error.message : String(error)}`);
    }
  }
  return { changed, lost };
}

/** A corner that was measured anew stands a little elsewhere: the hand's command means that one. */
function atCorners(building: Building, command: BuildingCommand): BuildingCommand {
  if (command.kind === 'move-corner') return { ...command, from: cornerNear(building, command.from) };
  return command.kind === 'remove-corner' ? { ...command, at: cornerNear(building, command.at) } : command;
}

/** How far a corner may have shifted, in plan and in height. [m] */
const SHIFTED_M = 0.3;
const LIFTED_M = 0.6;

function cornerNear({ roofPlanes }: Building, at: Vector3): Vector3 {
  const away = (corner: Vector3): number => Math.hypot(corner[0] - at[0], corner[1] - at[1]);
  const near = roofPlanes.flatMap((plane) => ringsOf(plane).flat()).filter((corner) => away(corner) < SHIFTED_M && Math.abs(corner[2] - at[2]) < LIFTED_M);
  return near.toSorted((a, b) => away(a) - away(b))[0] ?? at;
}

const HAND_WORDS: Readonly<Partial<Record<SurveyCommand['kind'], string>>> = {
  'move-corner': 'A moved corner', 'bend-edge': 'An added corner', 'remove-corner': 'A corner taken away', 'add-obstruction': 'A drawn thing',
  'reshape-obstruction': 'A foot drawn again', 'set-obstruction-height': 'A height typed', 'add-parapet': 'A marked parapet',
  'set-parapet-size': 'A size typed', 'set-edge-kind': 'A kind of edge', 'leave-rules': 'Rules left out', 'apply-correction': 'The correction of the whole model',
};
