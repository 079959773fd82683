import type { Plane } from '../../geometry/plane.ts';
import type { Building } from '../../roof/record.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import type { LabelEdit } from './label-edit.ts';
import { backOf, buildingAfter, placeAfter, planAfter, planeAfter, type Move } from './move-model.ts';

/**
 * The way back from a corrected model to the points as they were measured: points are never moved, so a building is
 * measured again where they lie, and corrected afterwards.
 *
 * @param moves  As they were applied, the first one first.
 */
const wayBack = (moves: readonly Move[]): Move[] => moves.toReversed().map(backOf);

/** Where a place of the corrected model was measured. */
export const placeAsMeasured = (at: Vector3, moves: readonly Move[]): Vector3 => wayBack(moves).reduce(placeAfter, at);

const planAsMeasured = (at: Vector2, moves: readonly Move[]): Vector2 => wayBack(moves).reduce(planAfter, at);

/** A building of the corrected model with its places where they were measured. Its doubts are not those of the measured one. */
export const buildingAsMeasured = (building: Building, moves: readonly Move[]): Building => wayBack(moves).reduce(buildingAfter, building);

/** What was said of points of the corrected model, said of the points as they were measured. */
export function editAsMeasured(edit: LabelEdit, moves: readonly Move[]): LabelEdit {
  if (moves.length === 0) return edit;
  if (edit.kind === 'lasso') return { ...edit, ring: edit.ring.map((at) => planAsMeasured(at, moves)) };
  const planes = edit.planes.map(({ id, normal, offset, outline }) => {
    const measured = wayBack(moves).reduce<Plane>(planeAfter, { normal, offset });
    return { id, normal: measured.normal, offset: measured.offset, outline: outline.map((at) => placeAsMeasured(at, moves)) };
  });
  if (edit.kind === 'merge') return { ...edit, planes };
  const [from, to] = edit.along;
  return { ...edit, planes, along: [planAsMeasured(from, moves), planAsMeasured(to, moves)] };
}
