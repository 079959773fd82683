import type { Cloud } from '../../cloud/cloud.ts';
import type { LabelledCloudCell } from '../../find/remeasure-building.ts';
import { assumptionsWith } from '../../reading/assumptions.ts';
import type { AppliedCorrection, Building, RoofRecord } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import type { SurveyCommand } from '../commands.ts';
import type { History } from '../history.ts';
import { optionsOfRecord } from '../survey-options.ts';
import type { FoundPlanes } from '../survey-result.ts';
import { buildingAsMeasured, editAsMeasured } from './as-measured.ts';
import { movesOf } from './move-model.ts';
import type { LabelEdit, PlanePlace } from './label-edit.ts';
import { idsOf } from './keep-names.ts';
import type { RefitOrder } from './refit-building.ts';

/** The survey whose points are open: labels as it gave them, before any correction. */
export interface OpenSurvey {
  readonly cloud: Cloud;
  readonly labels: readonly Uint16Array[];
  readonly found: FoundPlanes;
}

/** Cells this near to what is pointed at see everything beside it that measuring looks at. [m] */
const REACH_M = 4;

/** Every command that stands, steps of several taken apart, oldest first. */
export function standingCommands({ steps, done }: History): SurveyCommand[] {
  const flat = (command: SurveyCommand): SurveyCommand[] => (command.kind === 'several' ? command.commands.flatMap(flat) : [command]);
  return steps.slice(0, done).flatMap(({ command }) => flat(command));
}

/** What was said of a building's points so far, of the points as they were measured: the model may have been moved before or after it was said. */
export function standingEdits(history: History, building: string): LabelEdit[] {
  const applied: AppliedCorrection[] = [];
  return standingCommands(history).flatMap((command) => {
    if (command.kind === 'apply-correction') applied.push(command.correction);
    return command.kind === 'refit-building' && command.to.id === building ? [editAsMeasured(command.edit, movesOf(applied, history.base.frame.gridToTrueDeg))] : [];
  });
}

/** Planes of a building as an edit remembers them. */
export const placesOf = ({ roofPlanes }: Building): PlanePlace[] => roofPlanes.map(({ id, normal, offset, outline }) => ({ id, normal, offset, outline }));

/**
 * What a worker needs to measure a building again.
 *
 * @param edit  What is said now; null to do again only what stands.
 * @throws InputError when the open points are not those of the record.
 */
export function refitOrder(history: History, { found, cloud }: OpenSurvey, building: string, edit: LabelEdit | null): RefitOrder {
  const { base, record } = history;
  if (found.buildingLabels.length !== base.buildings.length) {
    throw new InputError('points', `the files that are open give ${found.buildingLabels.length} buildings, the record was made with ${base.buildings.length}. Survey them anew.`);
  }
  const moves = movesOf(record.corrections ?? [], record.frame.gridToTrueDeg);
  const before = record.buildings.find(({ id }) => id === building);
  const index = base.buildings.findIndex(({ id }) => id === building);
  return {
    id: building,
    grid: cloud.grid,
    planes: found.planes,
    ownLabels: index < 0 ? [] : found.buildingLabels[index]!,
    noise: found.noise,
    pointSpacing: found.pointSpacing,
    groundSampleDistance: base.sampling.groundSampleDistanceM,
    gridToTrue: found.gridToTrue,
    assumptions: assumptionsWith(optionsOfRecord(record).control),
    ground: found.ground,
    finding: found.finding,
    edits: [...standingEdits(history, building), ...(edit ? [editAsMeasured(edit, moves)] : [])],
    byHand: standingCommands(history).filter((command) => isByHand(command, building, record)),
    before: before ? buildingAsMeasured(before, moves) : null,
    surveyed: base.buildings[index] ?? null,
    taken: everId(history),
    moves,
  };
}

/** What a building must go through again after it was measured: hands on it, and corrections of the whole model in between. */
function isByHand(command: SurveyCommand, building: string, record: RoofRecord): boolean {
  if (command.kind === 'apply-correction') return true;
  if (command.kind === 'set-edge-kind') return record.buildings.some(({ id, edges }) => id === building && edges.some((edge) => edge.id === command.edge));
  return 'building' in command && command.kind !== 'insert-building' && command.building === building;
}

/** Every id that a part ever had, so that none is given twice. */
function everId({ base, steps }: History): string[] {
  const refits = steps.flatMap(({ command }) => (command.kind === 'several' ? command.commands : [command])).flatMap((command) => (command.kind === 'refit-building' ? [command.to] : []));
  return [...base.buildings, ...refits].flatMap(idsOf);
}

/** Cells an order needs: about the building and what else was pointed at, with the labels the survey gave. */
export function cellsFor({ id, before, edits }: RefitOrder, { base }: History, { cloud, labels, found }: OpenSurvey): LabelledCloudCell[] {
  const { origin, cellSize } = cloud.grid;
  const box = found.buildingBoxes[base.buildings.findIndex((building) => building.id === id)];
  const corners = [...(box ? [[box[0], box[1]], [box[2], box[3]]] : []), ...(before?.outline ?? []), ...edits.flatMap((edit) => (edit.kind === 'lasso' ? edit.ring : []))];
  const xs = corners.map(([x]) => x!);
  const ys = corners.map(([, y]) => y!);
  const [x0, x1, y0, y1] = [Math.min(...xs) - REACH_M, Math.max(...xs) + REACH_M, Math.min(...ys) - REACH_M, Math.max(...ys) + REACH_M];
  return cloud.cells.flatMap((cell, i) => {
    const [left, bottom] = [origin[0] + cell.column * cellSize, origin[1] + cell.row * cellSize];
    return left < x1 && left + cellSize > x0 && bottom < y1 && bottom + cellSize > y0 ? [{ ...cell, labels: labels[i]! }] : [];
  });
}
