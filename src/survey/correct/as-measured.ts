import type { Plane } from '../../geometry/plane.ts';
import type { Building } from '../../roof/record.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import type { LabelEdit } from './label-edit.ts';
import { placeOf, stretchBuilding, stretchedPlane, type Stretch } from './stretch-model.ts';

/**
 * The way back from a corrected model to the points as they were measured: points are never stretched, so a building is
 * measured again where they lie, and corrected afterwards.
 *
 * @param stretches  As they were applied, the first one first.
 */
const wayBack = (stretches: readonly Stretch[]): Stretch[] =>
  stretches.toReversed().map((stretch) => ({ ...stretch, horizontal: 1 / stretch.horizontal, vertical: 1 / stretch.vertical }));

/** Where a place of the corrected model was measured. */
export const placeAsMeasured = (at: Vector3, stretches: readonly Stretch[]): Vector3 => wayBack(stretches).reduce(placeOf, at);

const planAsMeasured = ([x, y]: Vector2, stretches: readonly Stretch[]): Vector2 => {
  const [u, v] = placeAsMeasured([x, y, 0], stretches);
  return [u, v];
};

/** A building of the corrected model with its places where they were measured. Its doubts are not those of the measured one. */
export const buildingAsMeasured = (building: Building, stretches: readonly Stretch[]): Building => wayBack(stretches).reduce(stretchBuilding, building);

/** What was said of points of the corrected model, said of the points as they were measured. */
export function editAsMeasured(edit: LabelEdit, stretches: readonly Stretch[]): LabelEdit {
  if (stretches.length === 0) return edit;
  if (edit.kind === 'lasso') return { ...edit, ring: edit.ring.map((at) => planAsMeasured(at, stretches)) };
  const planes = edit.planes.map(({ id, normal, offset, outline }) => {
    const measured = wayBack(stretches).reduce<Plane>(stretchedPlane, { normal, offset });
    return { id, normal: measured.normal, offset: measured.offset, outline: outline.map((at) => placeAsMeasured(at, stretches)) };
  });
  if (edit.kind === 'merge') return { ...edit, planes };
  const [from, to] = edit.along;
  return { ...edit, planes, along: [planAsMeasured(from, stretches), planAsMeasured(to, stretches)] };
}
