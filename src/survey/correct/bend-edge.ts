import { add, dot, length, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofEdge, RoofPlane } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { isKnown, measured } from '../../units/measured.ts';
import { type AreaDoubt, changed, isAt, onPlane, ownersOf, ringsOf, withOutline, withRings } from './corner-places.ts';
import { moveCorner } from './move-corner.ts';
import { withRoofAreaOf } from './corrected-area.ts';

/** A new corner keeps this far from the ends of its edge. [m] */
const FROM_ENDS_M = 0.1;

const nothingAdded = (gone: Vector3 | null): AreaDoubt => {
  const none = { gone, come: null, u95: 0 };
  return { slopeAreaM2: none, planAreaM2: none };
};

export interface EdgeBend {
  readonly edge: string;
  /** Where along the edge. */
  readonly at: Vector3;
  /** Where the new corner belongs, with one sigma sideways. [m] */
  readonly to: Vector3;
  readonly sigmaM: number;
  /** Id of the second piece; the first keeps the edge's own. */
  readonly newEdge: string;
}

/**
 * Puts a new corner on a free edge of a plane and moves it to where it belongs: one edge becomes two.
 *
 * @throws InputError when two planes meet along the edge, which is straight then, or the outline would cross itself.
 */
export function bendEdge(building: Building, { edge: id, at, to, sigmaM, newEdge }: EdgeBend): Building {
  const edge = building.edges.find((candidate) => candidate.id === id);
  if (!edge) throw new RangeError(`No edge ${id}.`);
  if (edge.planes.length > 1) throw new InputError('edge', 'two planes meet along it, so it is straight. Split a plane instead.');
  const plane = building.roofPlanes.find((candidate) => candidate.id === edge.planes[0]);
  if (!plane) throw new RangeError(`No plane ${edge.planes[0]}.`);
  const run = subtract(edge.to, edge.from);
  const size = length(run);
  const along = Math.min(size - FROM_ENDS_M, Math.max(FROM_ENDS_M, dot(subtract(at, edge.from), run) / size));
  if (size < 2 * FROM_ENDS_M) throw new InputError('edge', 'it is too short for another corner.');
  const foot = onPlane(plane, add(edge.from, scale(run, along / size)));
  if (!ringsOf(plane).some((ring) => placeBetween(ring, edge) >= 0)) throw new InputError('edge', 'its ends are no neighbours in the outline.');
  const roofPlanes = building.roofPlanes.map((candidate) => (candidate === plane ? withRings(plane, 'edge', (ring) => withCorner(ring, edge, foot), nothingAdded(null)) : candidate));
  const edges = building.edges.flatMap((candidate) => (candidate === edge ? [piece(edge, edge.id, edge.from, foot), piece(edge, newEdge, foot, edge.to)] : [candidate]));
  return moveCorner({ ...building, roofPlanes, edges }, foot, to, sigmaM);
}

/** Index of the corner after which an edge runs in a ring; -1 when it does not. */
function placeBetween(ring: readonly Vector3[], { from, to }: RoofEdge): number {
  return ring.findIndex((corner, i) => {
    const next = ring[(i + 1) % ring.length]!;
    return (isAt(corner, from) && isAt(next, to)) || (isAt(corner, to) && isAt(next, from));
  });
}

function withCorner(ring: readonly Vector3[], edge: RoofEdge, corner: Vector3): readonly Vector3[] {
  const after = placeBetween(ring, edge);
  return after < 0 ? ring : ring.toSpliced(after + 1, 0, corner);
}

function piece(edge: RoofEdge, id: string, from: Vector3, to: Vector3): RoofEdge {
  const size = length(subtract(to, from));
  const { slopeLengthM } = edge;
  return { ...edge, id, from, to, slopeLengthM: isKnown(slopeLengthM) ? measured(size, slopeLengthM.parts ?? [{ name: 'as found', u95: slopeLengthM.u95 }]) : slopeLengthM };
}

/**
 * Takes an outline corner away; the two edges that met there become one.
 *
 * @throws InputError where the corner is what holds two planes apart, or only three corners are left.
 */
export function removeCorner(building: Building, at: Vector3): Building {
  const owners = ownersOf(building, at);
  if (owners.length === 0) throw new InputError('corner', 'no outline has a corner there.');
  const here = building.edges.filter(({ from, to }) => isAt(from, at) || isAt(to, at));
  const sharing = [...new Set(here.map(({ planes }) => planes.toSorted().join(' ')))];
  if (owners.length > 2 || sharing.length !== 1 || here.length !== 2) {
    throw new InputError('corner', 'edges of different planes end here, so it cannot go. Merge or split planes instead.');
  }
  const roofPlanes = building.roofPlanes.map((plane) => (owners.includes(plane) ? withRings(plane, 'corner', (ring) => ring.filter((corner) => !isAt(corner, at)), nothingAdded(at)) : plane));
  const joined = joinedEdge(here[0]!, here[1]!, at, owners);
  const edges = building.edges.flatMap((edge) => (edge === here[0] ? [joined] : edge === here[1] ? [] : [edge]));
  return withOutline({ ...withRoofAreaOf(building, roofPlanes, (total, grown, area) => changed(total, grown, nothingAdded(at)[area])), roofPlanes, edges });
}

/** The longer edge goes on: its id, its kind, its direction; the ends' doubts of both are in its length. */
function joinedEdge(a: RoofEdge, b: RoofEdge, at: Vector3, owners: readonly RoofPlane[]): RoofEdge {
  const sizeOf = ({ from, to }: RoofEdge): number => length(subtract(to, from));
  const [kept, other] = sizeOf(a) >= sizeOf(b) ? [a, b] : [b, a];
  const far = isAt(other.from, at) ? other.to : other.from;
  const end = owners.length === 1 ? onPlane(owners[0]!, far) : far;
  const ends = isAt(kept.from, at) ? { from: end, to: kept.to } : { from: kept.from, to: end };
  const u95 = [a, b].reduce((sum, { slopeLengthM }) => Math.hypot(sum, isKnown(slopeLengthM) ? slopeLengthM.u95 : 0), 0);
  const known = isKnown(a.slopeLengthM) && isKnown(b.slopeLengthM);
  return { ...kept, ...ends, slopeLengthM: known ? measured(length(subtract(ends.to, ends.from)), [{ name: 'ends', u95 }]) : kept.slopeLengthM };
}
