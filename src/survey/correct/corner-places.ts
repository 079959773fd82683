import { planeElevationAt } from '../../geometry/plane.ts';
import { signedPlanArea, surfaceArea } from '../../geometry/polygon.ts';
import { regionParts, unite } from '../../geometry/region.ts';
import { length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofPlane } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { isKnown, measured, type Measured } from '../../units/measured.ts';
import { outlineCrossing } from '../measure/numbers.ts';
import { SIGMAS_IN_95 } from '../measure/uncertainty.ts';
import type { AreaName } from './corrected-area.ts';

/** Corners and ends nearer than this are one place: planes that meet are lifted to their own height each. [m] */
const SAME_PLACE_M = 0.05;

/** Name of the share a corner placed by hand has in a number: each corner has its own, once, however often it is moved. */
const handPart = ([x, y]: Vector3): string => `corner by hand at ${x.toFixed(2)}, ${y.toFixed(2)}`;

/** What a hand added to a number's doubt: the share of the corner that went away, if any, and that of the one that came. */
export interface HandDoubt {
  readonly gone: Vector3 | null;
  readonly come: Vector3 | null;
  /** 95 %. */
  readonly u95: number;
}

export const isAt = (corner: Vector3, place: Vector3): boolean => length(subtract(corner, place)) < SAME_PLACE_M;

export const onPlane = (plane: RoofPlane, at: Vector3): Vector3 => [at[0], at[1], planeElevationAt(plane, [at[0], at[1]])];

/** Outline first, then holes. */
export const ringsOf = (plane: RoofPlane): readonly (readonly Vector3[])[] => [plane.outline, ...plane.holes];

/** Planes with a corner at a place. */
export const ownersOf = (building: Building, place: Vector3): RoofPlane[] => building.roofPlanes.filter((plane) => ringsOf(plane).some((ring) => ring.some((corner) => isAt(corner, place))));

/** What a hand added to the doubt of an area on the surface, and in plan. [m²] */
export type AreaDoubt = Readonly<Record<AreaName, HandDoubt>>;

/**
 * A plane with other rings: areas follow.
 *
 * @throws InputError when a ring crosses itself or has no corner left to lose.
 */
export function withRings(plane: RoofPlane, name: string, change: (ring: readonly Vector3[]) => readonly Vector3[], doubt: AreaDoubt): RoofPlane {
  const [outline, ...holes] = ringsOf(plane).map(change);
  for (const ring of [outline!, ...holes]) {
    if (ring.length < 3) throw new InputError(name, 'an outline needs three corners.');
    const crossing = outlineCrossing(ring);
    if (crossing) throw new InputError(name, `${crossing}.`);
  }
  const total = (area: (ring: readonly Vector3[]) => number, rings: readonly (readonly Vector3[])[]): number => rings.reduce((sum, ring, i) => sum + (i === 0 ? 1 : -1) * Math.abs(area(ring)), 0);
  const grown = (area: (ring: readonly Vector3[]) => number): number => total(area, [outline!, ...holes]) - total(area, ringsOf(plane));
  return {
    ...plane,
    outline: outline!,
    holes,
    slopeAreaM2: changed(plane.slopeAreaM2, grown(surfaceArea), doubt.slopeAreaM2),
    planAreaM2: changed(plane.planAreaM2, grown(signedPlanArea), doubt.planAreaM2),
  };
}

/** 95 % of what one corner's place adds to areas: half the diagonal between its neighbours, as fast as the area grows. */
export function cornerDoubt(before: Vector3, after: Vector3, sigmaM: number, gone: Vector3, come: Vector3): AreaDoubt {
  const diagonal = subtract(after, before);
  const share = (reach: number): HandDoubt => ({ gone, come, u95: (SIGMAS_IN_95 * sigmaM * reach) / 2 });
  return { slopeAreaM2: share(length(diagonal)), planAreaM2: share(Math.hypot(diagonal[0], diagonal[1])) };
}

/** A number grown by what a hand did, with the hand's doubt among its parts. */
export function changed(number: Measured, by: number, { gone, come, u95 }: HandDoubt): Measured {
  if (!isKnown(number)) return number;
  const parts = number.parts ?? [{ name: 'as found', u95: number.u95 }];
  const kept = gone ? parts.filter(({ name }) => name !== handPart(gone)) : parts;
  return measured(number.value + by, come ? [...kept, { name: handPart(come), u95 }] : kept);
}

/** The building's plan outline made again from its planes. */
export function withOutline(building: Building): Building {
  const rings = building.roofPlanes.map(({ outline }) => outline.map(([x, y]): Vector2 => [x, y]));
  const outers = regionParts(unite(...rings.map((ring) => [ring]))).map((part) => part[0]!);
  if (outers.length === 0) return building;
  return { ...building, outline: outers.reduce((a, b) => (signedPlanArea(b) > signedPlanArea(a) ? b : a)) };
}
