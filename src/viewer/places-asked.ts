import type { Vector3 } from '../geometry/vector.ts';
import { planeElevationAt } from '../geometry/plane.ts';
import type { PlaneTarget, SnapTargets } from '../survey/measure/snap-targets.ts';
import type { BoardState } from './board-state.ts';
import { roomiestPlace } from './label-place.ts';

/** What a tool asks for next. */
type Asked = 'corners' | 'edges' | 'planes' | 'rim';

/** Places that keys go to one after the other: those the tool that is at hand asks for next. */
export function placesAsked(measuring: NonNullable<BoardState['measuring']>, targets: SnapTargets): readonly Vector3[] {
  const { corners, edges, planes } = targets;
  switch (asked(measuring)) {
    case 'edges':
      return edges.map(middleOf);
    case 'planes':
      return planes.map(insideOf);
    case 'rim':
      return [...corners.map(({ at }) => at), ...edges.map(middleOf)];
    case 'corners':
      return corners.map(({ at }) => at);
  }
}

function asked({ tool, picks }: NonNullable<BoardState['measuring']>): Asked {
  if (tool === 'merge' || tool === 'plane-angle' || tool === 'pin') return 'planes';
  if (tool === 'height-above-roof' && picks.length === 0) return 'planes';
  if (tool === 'add-corner' && picks.length === 0) return 'edges';
  return tool === 'split' || tool === 'section' ? 'rim' : 'corners';
}

const middleOf = ({ from, to }: { readonly from: Vector3; readonly to: Vector3 }): Vector3 => [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2, (from[2] + to[2]) / 2];

/** A plane's place does not move while the plane stands, and takes a while to find. */
const inside = new WeakMap<PlaneTarget, Vector3>();

function insideOf(plane: PlaneTarget): Vector3 {
  const known = inside.get(plane);
  if (known) return known;
  const { at } = roomiestPlace(plane.outline, plane.holes);
  const place: Vector3 = [at[0], at[1], planeElevationAt(plane, at)];
  inside.set(plane, place);
  return place;
}
