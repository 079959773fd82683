import type { Plane } from '../../geometry/plane.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { scale } from '../../geometry/vector.ts';
import type { AppliedCorrection, Building, Parapet, RoofRecord } from '../../roof/record.ts';
import { degrees, toRadians } from '../../units/quantity.ts';
import { placeOf, stretchBuilding, stretchedPlane, stretchModel, stretchParapet, type Stretch } from './stretch-model.ts';
import { turnBuilding, turnedPlace, turnedPlane, turnModel, turnParapet, type Turn } from './turn-model.ts';

/** What a correction does to places of the whole model against each other, or against the vertical. */
export type Move = Stretch | Turn;

const isTurn = (move: Move): move is Turn => 'turn' in move;

/**
 * The move a correction makes; null for one that leaves every place where it is in the local frame (a shift), or moves edges alone.
 *
 * @param gridToTrueDeg  Angle to add to a grid bearing to get a true one.
 */
export function moveOf({ kind, amount, riseDeg, riseU95Deg, u95, about }: AppliedCorrection, gridToTrueDeg: number): Move | null {
  if (kind === 'scale' || kind === 'vertical-scale') return stretchOf(kind, amount!, u95, about);
  if (kind !== 'tilt' && kind !== 'turn') return null;
  const gridToTrue = toRadians(degrees(gridToTrueDeg));
  const radians = (angle: number): number => toRadians(degrees(angle));
  // A right-handed turn about the east axis lifts the north, about the north axis it lowers the east, about the plumb line it makes bearings less.
  if (kind === 'turn') return { about, turn: [0, 0, radians(amount!)], u95Deg: [u95, u95], isTilt: false, gridToTrue };
  return { about, turn: [-radians(riseDeg![0]), radians(riseDeg![1]), 0], u95Deg: riseU95Deg ?? [u95, u95], isTilt: true, gridToTrue };
}

/** Corrections that move points against each other or turn them, oldest first; the others leave the cloud as it is. */
export const movesOf = (corrections: readonly AppliedCorrection[], gridToTrueDeg: number): Move[] => corrections.flatMap((each) => moveOf(each, gridToTrueDeg) ?? []);

/** What a correction of scale or of heights does to places. */
function stretchOf(kind: 'scale' | 'vertical-scale', amount: number, u95: number, about: Vector3): Stretch {
  const factor = 1 / (1 + amount);
  return { about, horizontal: kind === 'scale' ? factor : 1, vertical: factor, u95, isVertical: kind === 'vertical-scale' };
}

export const placeAfter = (at: Vector3, move: Move): Vector3 => (isTurn(move) ? turnedPlace(at, move) : placeOf(at, move));
export const planeAfter = (plane: Plane, move: Move): Plane => (isTurn(move) ? turnedPlane(plane, move) : stretchedPlane(plane, move));
export const buildingAfter = (building: Building, move: Move): Building => (isTurn(move) ? turnBuilding(building, move) : stretchBuilding(building, move));
export const parapetAfter = <T extends Omit<Parapet, 'id'>>(parapet: T, move: Move): T => (isTurn(move) ? turnParapet(parapet, move) : stretchParapet(parapet, move));
export const modelAfter = (record: RoofRecord, move: Move): RoofRecord => (isTurn(move) ? turnModel(record, move) : stretchModel(record, move));

/** A place seen from above, taken at the height of the fixed point. */
export const planAfter = ([x, y]: Vector2, move: Move): Vector2 => {
  const [u, v] = placeAfter([x, y, move.about[2]], move);
  return [u, v];
};

/** The move that takes another one back. */
export const backOf = (move: Move): Move => (isTurn(move) ? { ...move, turn: scale(move.turn, -1) } : { ...move, horizontal: 1 / move.horizontal, vertical: 1 / move.vertical });
