import type { Vector3 } from '../../geometry/vector.ts';
import type { Building, EdgeKind, Parapet, RecordPick } from '../../roof/record.ts';
import type { Measured } from '../../units/measured.ts';
import { addObstruction, HEIGHT_NOT_MEASURED, withHeight } from './add-obstruction.ts';
import { bendEdge, removeCorner, type EdgeBend } from './bend-edge.ts';
import { leaveRules } from './leave-rules.ts';
import { moveCorner } from './move-corner.ts';
import { reshapeThing } from './reshape-thing.ts';

/**
 * What a hand changes of one building. Told by places and ids, so that it can be done again after the building was
 * measured anew.
 */
export type BuildingCommand =
  /** Puts an outline corner elsewhere, with everything that shares it. */
  | { readonly kind: 'move-corner'; readonly building: string; readonly from: Vector3; readonly to: Vector3; readonly sigmaM: number }
  /** A new corner on an edge, and where it belongs. */
  | ({ readonly kind: 'bend-edge'; readonly building: string } & EdgeBend)
  | { readonly kind: 'remove-corner'; readonly building: string; readonly at: Vector3 }
  /** Draws a thing in the way, draws its foot again, says how high it is. */
  | { readonly kind: 'add-obstruction'; readonly building: string; readonly id: string; readonly picks: readonly RecordPick[] }
  | { readonly kind: 'reshape-obstruction'; readonly building: string; readonly id: string; readonly picks: readonly RecordPick[] }
  | { readonly kind: 'set-obstruction-height'; readonly building: string; readonly id: string; readonly heightAboveRoofM: Measured }
  /** A parapet a person marked, as it was measured then; edges along it become parapet edges. */
  | { readonly kind: 'add-parapet'; readonly building: string; readonly parapet: Parapet; readonly edges: readonly string[] }
  /** What a person measured of a parapet on site. */
  | { readonly kind: 'set-parapet-size'; readonly building: string; readonly id: string; readonly heightAboveRoofM?: Measured; readonly thicknessM?: Measured }
  /** Rules that sides of a plane, or one edge, were drawn to: left out, or taken again. */
  | { readonly kind: 'leave-rules'; readonly building: string; readonly id: string; readonly off: boolean };

/** @throws InputError when the roof does not allow it; RangeError when the building does not hold what it speaks of. */
export function changeBuilding(building: Building, command: BuildingCommand): Building {
  switch (command.kind) {
    case 'move-corner':
      return moveCorner(building, command.from, command.to, command.sigmaM);
    case 'bend-edge':
      return bendEdge(building, command);
    case 'remove-corner':
      return removeCorner(building, command.at);
    case 'add-obstruction':
      return addObstruction(building, command.id, command.picks, HEIGHT_NOT_MEASURED);
    case 'reshape-obstruction':
      return reshapeThing(building, command.id, command.picks);
    case 'set-obstruction-height':
      return withHeight(building, command.id, command.heightAboveRoofM);
    case 'add-parapet':
      return command.edges.reduce<Building>((changed, edge) => withKind(changed, edge, 'parapet'), { ...building, parapets: [...building.parapets, command.parapet] });
    case 'set-parapet-size':
      return withSize(building, command);
    case 'leave-rules':
      return leaveRules(building, command.id, command.off);
  }
}

/** @throws RangeError when the building has no such edge. */
export function withKind(building: Building, id: string, kind: EdgeKind): Building {
  const at = building.edges.findIndex((edge) => edge.id === id);
  if (at < 0) throw new RangeError(`No edge ${id}.`);
  return { ...building, edges: building.edges.with(at, { ...building.edges[at]!, kind }) };
}

function withSize(building: Building, { id, heightAboveRoofM, thicknessM }: BuildingCommand & { kind: 'set-parapet-size' }): Building {
  const at = building.parapets.findIndex((parapet) => parapet.id === id);
  if (at < 0) throw new RangeError(`No parapet ${id}.`);
  const parapet = { ...building.parapets[at]!, ...(heightAboveRoofM ? { heightAboveRoofM } : {}), ...(thicknessM ? { thicknessM } : {}) };
  return { ...building, parapets: building.parapets.with(at, parapet) };
}
