import { planeElevationAt } from '../../geometry/plane.ts';
import { signedPlanArea, surfaceArea } from '../../geometry/polygon.ts';
import { add, cross, dot, length, normalize, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofEdge, RoofPlane } from '../../roof/record.ts';
import { isKnown, measured, type Measured } from '../../units/measured.ts';
import { InputError } from '../../units/input-error.ts';
import { outlineCrossing } from '../measure/numbers.ts';
import { SIGMAS_IN_95 } from '../measure/uncertainty.ts';

/** Corners and ends nearer than this are one place. [m] */
const SAME_PLACE_M = 0.05;
const BY_HAND = 'corner placed by hand';

/**
 * Moves an outline corner. Every plane and edge that shares it follows, and areas and lengths are derived again, with
 * the doubt of the hand added. A corner of one plane goes where it is put, on its plane; one of two planes stays on the
 * line where they meet; where three meet they alone decide.
 *
 * @param sigmaM  One sigma of the place it is put at, sideways. [m]
 * @throws InputError when it cannot be moved, or the outline would cross itself.
 */
export function moveCorner(building: Building, from: Vector3, to: Vector3, sigmaM: number): Building {
  const owners = building.roofPlanes.filter(({ outline }) => outline.some((corner) => isAt(corner, from)));
  if (owners.length === 0) throw new InputError('corner', 'no outline has a corner there.');
  if (owners.length > 2) throw new InputError('corner', `${owners.length} planes meet here, so it is where they meet. Correct the planes instead.`);
  const place = owners.length === 2 ? onMeetingLine(owners[0]!, owners[1]!, to) : onPlane(owners[0]!, to);
  const roofPlanes = building.roofPlanes.map((plane) => (owners.includes(plane) ? movedPlane(plane, from, place, sigmaM) : plane));
  const edges = building.edges.map((edge) => (isAt(edge.from, from) || isAt(edge.to, from) ? movedEdge(edge, from, place, sigmaM) : edge));
  return { ...building, roofPlanes, edges };
}

const isAt = (corner: Vector3, place: Vector3): boolean => length(subtract(corner, place)) < SAME_PLACE_M;

const onPlane = (plane: RoofPlane, at: Vector3): Vector3 => [at[0], at[1], planeElevationAt(plane, [at[0], at[1]])];

/** The place on the line of two planes that stands nearest to where it was put. */
function onMeetingLine(a: RoofPlane, b: RoofPlane, at: Vector3): Vector3 {
  const along = cross(a.normal, b.normal);
  const size = length(along);
  if (size < 1e-3) return onPlane(a, at);
  // A point on both planes: the one nearest to the origin lies in the span of both normals.
  const cosine = dot(a.normal, b.normal);
  const share = 1 / (1 - cosine * cosine);
  const base = add(scale(a.normal, (-a.offset + b.offset * cosine) * share), scale(b.normal, (-b.offset + a.offset * cosine) * share));
  const direction = normalize(along);
  return add(base, scale(direction, dot(subtract(at, base), direction)));
}

function movedPlane(plane: RoofPlane, from: Vector3, to: Vector3, sigmaM: number): RoofPlane {
  const index = plane.outline.findIndex((corner) => isAt(corner, from));
  const outline = plane.outline.with(index, to);
  const crossing = outlineCrossing(outline);
  if (crossing) throw new InputError('corner', `${crossing}; put it elsewhere.`);
  const before = plane.outline[(index + outline.length - 1) % outline.length]!;
  const after = plane.outline[(index + 1) % outline.length]!;
  const diagonal = subtract(after, before);
  // Half the diagonal between the neighbours is how fast the area changes when the corner moves across it.
  const doubt = (half: number): number => SIGMAS_IN_95 * sigmaM * half;
  return {
    ...plane,
    outline,
    slopeAreaM2: changed(plane.slopeAreaM2, surfaceArea(outline) - surfaceArea(plane.outline), doubt(length(diagonal) / 2)),
    planAreaM2: changed(plane.planAreaM2, signedPlanArea(outline) - signedPlanArea(plane.outline), doubt(Math.hypot(diagonal[0], diagonal[1]) / 2)),
  };
}

function movedEdge(edge: RoofEdge, from: Vector3, to: Vector3, sigmaM: number): RoofEdge {
  const ends = { from: isAt(edge.from, from) ? to : edge.from, to: isAt(edge.to, from) ? to : edge.to };
  const grown = length(subtract(ends.to, ends.from)) - length(subtract(edge.to, edge.from));
  return { ...edge, ...ends, slopeLengthM: changed(edge.slopeLengthM, grown, SIGMAS_IN_95 * sigmaM) };
}

function changed(number: Measured, by: number, u95: number): Measured {
  if (!isKnown(number)) return number;
  const parts = number.parts ?? [{ name: 'as found', u95: number.u95 }];
  return measured(number.value + by, [...parts.filter(({ name }) => name !== BY_HAND), { name: BY_HAND, u95 }]);
}
