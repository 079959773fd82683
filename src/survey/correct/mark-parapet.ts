import { remeasureBuilding, type LabelledCloudCell } from '../../find/remeasure-building.ts';
import { pointLookup } from '../../find/measure/raster/point-lookup.ts';
import { measureLeg, type ParapetLeg } from '../../find/measure/edges/parapet-leg.ts';
import { joinChain } from '../../find/measure/edges/roof-parapets.ts';
import { planeElevationAt } from '../../geometry/plane.ts';
import { ringContains } from '../../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { planeOf } from '../../reading/plane-uncertainty.ts';
import type { Parapet } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { missing } from '../../units/measured.ts';
import { placeAsMeasured } from './as-measured.ts';
import { applyLabelEdit } from './label-edit.ts';
import { cellsOf, patchOf, planeRows } from './label-patch.ts';
import type { RefitOrder } from './refit-building.ts';
import { parapetAfter } from './move-model.ts';

/** Shorter legs show no top. [m] */
const SHORTEST_LEG_M = 0.3;

/**
 * Measures a parapet along the inner face a person drew, by the code that measures those that were found: on the side
 * of the line where more rises. Where the points show no top, its size is left open.
 *
 * @param drawn  Corners of the inner face, on the model as it was corrected. Local frame. [m]
 * @throws InputError when the line is too short, or stands on no plane of the building.
 */
export function measureParapet(order: RefitOrder, cells: readonly LabelledCloudCell[], drawn: readonly Vector3[]): Omit<Parapet, 'id'> {
  const measured = measureAlong(order, cells, drawn.map((at) => placeAsMeasured(at, order.moves)));
  return order.moves.reduce(parapetAfter, measured);
}

function measureAlong(order: RefitOrder, cells: readonly LabelledCloudCell[], path: readonly Vector3[]): Omit<Parapet, 'id'> {
  const patch = patchOf(cells, order.planes, order.ownLabels, order.noise);
  for (const edit of order.edits) applyLabelEdit(patch, edit);
  const measured = remeasureBuilding({ ...order, cells: cellsOf(patch, cells), planes: planeRows(patch), ownLabels: patch.own, drawn: patch.drawn, madeLabels: patch.madeLabels });
  if (!measured) throw new InputError('points', 'no roof is left of this building.');
  const { roof, tiles } = measured;
  const points = pointLookup(roof.raster, tiles);
  const legs = path.slice(1).map((to, i): ParapetLeg => {
    const from = path[i]!;
    if (Math.hypot(to[0] - from[0], to[1] - from[1]) < SHORTEST_LEG_M) throw new InputError('parapet', 'a leg is too short; draw it along the inner face, corner to corner.');
    const face = faceBeside(roof.rings, [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], [to[0] - from[0], to[1] - from[1]]);
    if (face === null) throw new InputError('parapet', 'no roof plane lies beside the line.');
    const fit = roof.fits[face - 1]!;
    const lift = ([x, y]: Vector3): Vector3 => [x, y, planeElevationAt(planeOf(fit), [x, y])];
    const [right, left] = [measureLeg({ from: lift(from), to: lift(to) }, fit, roof.raster, points), measureLeg({ from: lift(to), to: lift(from) }, fit, roof.raster, points)];
    return right.thickness >= left.thickness ? right : { ...left, from: right.from, to: right.to };
  });
  const seen = legs.filter(({ height }) => height > 0);
  if (seen.length === 0) return { path: [...legs.map(({ from }) => from), legs.at(-1)!.to], heightAboveRoofM: missing('too few points on top'), thicknessM: missing('too few points on top') };
  return { ...joinChain(seen), path: [...legs.map(({ from }) => from), legs.at(-1)!.to] };
}

/** The face on the one side of a line or the other, half a metre off. */
function faceBeside(rings: readonly { readonly face: number; readonly outline: readonly Vector2[] }[], [x, y]: Vector2, [dx, dy]: Vector2): number | null {
  const size = Math.hypot(dx, dy);
  for (const away of [0.1, 0.5, 1]) {
    for (const side of [1, -1]) {
      const at: Vector2 = [x - (side * away * dy) / size, y + (side * away * dx) / size];
      const found = rings.find(({ outline }) => ringContains(outline, at));
      if (found) return found.face;
    }
  }
  return null;
}
