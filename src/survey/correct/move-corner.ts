import { add, cross, dot, length, normalize, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofEdge, RoofPlane } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { SIGMAS_IN_95 } from '../measure/uncertainty.ts';
import { type AreaDoubt, changed, cornerDoubt, type HandDoubt, isAt, onPlane, ownersOf, ringsOf, withOutline, withRings } from './corner-places.ts';
import { type AreaName, withRoofAreaOf } from './corrected-area.ts';

/**
 * Moves an outline corner. Every plane and edge that shares it follows, and areas and lengths are derived again, with
 * the doubt of the hand added. A corner of one plane goes where it is put, on its plane; one of two planes stays on the
 * line where they meet; where three meet they alone decide.
 *
 * @param sigmaM  One sigma of the place it is put at, sideways. [m]
 * @throws InputError when it cannot be moved, or the outline would cross itself.
 */
export function moveCorner(building: Building, from: Vector3, to: Vector3, sigmaM: number): Building {
  const owners = ownersOf(building, from);
  if (owners.length === 0) throw new InputError('corner', 'no outline has a corner there.');
  if (owners.length > 2) throw new InputError('corner', `${owners.length} planes meet here, so it is where they meet. Correct the planes instead.`);
  const place = owners.length === 2 ? onMeetingLine(owners[0]!, owners[1]!, to) : onPlane(owners[0]!, to);
  const doubts = new Map(owners.map((plane) => [plane, doubtOf(plane, from, onPlane(plane, place), sigmaM)]));
  const roofPlanes = building.roofPlanes.map((plane) => (doubts.has(plane) ? movedPlane(plane, from, onPlane(plane, place), doubts.get(plane)!) : plane));
  const edges = building.edges.map((edge) => (isAt(edge.from, from) || isAt(edge.to, from) ? movedEdge(edge, from, place, sigmaM, owners) : edge));
  return withOutline({ ...withRoofAreaOf(building, roofPlanes, (total, grown, area) => changed(total, grown, together([...doubts.values()], area))), roofPlanes, edges });
}

/** What one corner adds to the area of all its planes together: no more than to each of them, which it moves all at once. */
function together(doubts: readonly AreaDoubt[], area: AreaName): HandDoubt {
  const each = doubts.map((doubt) => doubt[area]);
  return { ...each[0]!, u95: each.reduce((sum, { u95 }) => sum + u95, 0) };
}

/** The place on the line of two planes that stands nearest to where it was put; that place itself where they run alike. */
function onMeetingLine(a: RoofPlane, b: RoofPlane, at: Vector3): Vector3 {
  const along = cross(a.normal, b.normal);
  if (length(along) < 1e-3) return onPlane(a, at);
  // A point on both planes: the one nearest to the origin lies in the span of both normals.
  const cosine = dot(a.normal, b.normal);
  const share = 1 / (1 - cosine * cosine);
  const base = add(scale(a.normal, (-a.offset + b.offset * cosine) * share), scale(b.normal, (-b.offset + a.offset * cosine) * share));
  const direction = normalize(along);
  return add(base, scale(direction, dot(subtract(at, base), direction)));
}

function doubtOf(plane: RoofPlane, from: Vector3, to: Vector3, sigmaM: number): AreaDoubt {
  const ring = ringsOf(plane).find((corners) => corners.some((corner) => isAt(corner, from)))!;
  const at = ring.findIndex((corner) => isAt(corner, from));
  return cornerDoubt(ring[(at + ring.length - 1) % ring.length]!, ring[(at + 1) % ring.length]!, sigmaM, ring[at]!, to);
}

const movedPlane = (plane: RoofPlane, from: Vector3, to: Vector3, doubt: AreaDoubt): RoofPlane =>
  withRings(plane, 'corner', (corners) => corners.map((corner) => (isAt(corner, from) ? to : corner)), doubt);

function movedEdge(edge: RoofEdge, from: Vector3, to: Vector3, sigmaM: number, owners: readonly RoofPlane[]): RoofEdge {
  // An edge of one plane ends on that plane, also where the planes beside it lie a little higher or lower.
  const own = edge.planes.length === 1 ? owners.find(({ id }) => id === edge.planes[0]) : undefined;
  const place = own ? onPlane(own, to) : to;
  const ends = { from: isAt(edge.from, from) ? place : edge.from, to: isAt(edge.to, from) ? place : edge.to };
  const grown = length(subtract(ends.to, ends.from)) - length(subtract(edge.to, edge.from));
  return { ...edge, ...ends, slopeLengthM: changed(edge.slopeLengthM, grown, { gone: from, come: place, u95: SIGMAS_IN_95 * sigmaM }) };
}
