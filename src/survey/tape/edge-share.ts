import { planeElevationAt } from '../../geometry/plane.ts';
import { dot, length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofEdge, RoofRecord } from '../../roof/record.ts';
import { cornerShifts, EdgeEnds, inwardOf, isFree } from '../correct/inset-edges.ts';

/** A place this near an edge's end or line is on it. [m] */
const ON_EDGE_M = 0.05;

export interface ShareInput {
  readonly from: Vector3;
  readonly to: Vector3;
  readonly measures: 'slope' | 'level' | 'height';
}

/**
 * How much of an edge offset shows in a reading: the offset is what a distance square across two free edges gains, each
 * edge its half. Along an eave between two verges that is 1; from eave to ridge half of it, stretched by the slope;
 * between places where planes meet, or on a plane, nothing. Found by moving all free edges by a unit.
 *
 * @returns A function for one record, which looks only at the building a place is on.
 */
export function edgeShares(record: RoofRecord): (reading: ShareInput) => number {
  const sites = record.buildings.map(siteOf);
  return ({ from, to, measures }) => {
    const between = subtract(to, from);
    const along: Vector3 = measures === 'height' ? [0, 0, Math.sign(between[2])] : measures === 'level' ? [between[0], between[1], 0] : between;
    const size = length(along);
    if (size < 1e-9) return 0;
    const gain = dot(subtract(moveOf(sites, to), moveOf(sites, from)), along) / size;
    // Both edges by a unit inwards is an offset of minus two.
    const share = -gain / 2;
    return Math.abs(share) < 1e-9 ? 0 : share;
  };
}

interface Site {
  readonly building: Building;
  /** Box in plan about all edges. */
  readonly least: Vector2;
  readonly most: Vector2;
  /** Made when first asked for: most buildings of a block are never taped. */
  readonly ends: () => EdgeEnds;
  readonly shiftAt: () => (at: Vector3) => Vector2;
}

function once<T>(make: () => T): () => T {
  let made: { readonly value: T } | null = null;
  return () => (made ??= { value: make() }).value;
}

function siteOf(building: Building): Site {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const { from, to } of building.edges) {
    [x0, y0] = [Math.min(x0, from[0], to[0]), Math.min(y0, from[1], to[1])];
    [x1, y1] = [Math.max(x1, from[0], to[0]), Math.max(y1, from[1], to[1])];
  }
  return { building, least: [x0 - ON_EDGE_M, y0 - ON_EDGE_M], most: [x1 + ON_EDGE_M, y1 + ON_EDGE_M], ends: once(() => new EdgeEnds(building.edges)), shiftAt: once(() => cornerShifts(building, 1)) };
}

/** Where a place on the model goes when every free edge moves in by a unit. */
function moveOf(sites: readonly Site[], at: Vector3): Vector3 {
  for (const { building, least, most, ends: index, shiftAt } of sites) {
    if (at[0] < least[0] || at[1] < least[1] || at[0] > most[0] || at[1] > most[1]) continue;
    const ends = index().at(at);
    const free = ends.find(isFree);
    if (free) return onItsPlane(building, free, at, shiftAt()(at));
    if (ends.length > 0) return [0, 0, 0];
    const edge = building.edges.find((candidate) => isFree(candidate) && distanceTo(candidate, at) < ON_EDGE_M);
    const inward = edge && inwardOf(building, edge);
    if (edge && inward) return onItsPlane(building, edge, at, inward);
  }
  return [0, 0, 0];
}

/** A shift in plan with the rise of the plane it runs over. */
function onItsPlane(building: Building, edge: RoofEdge, at: Vector3, [dx, dy]: Vector2): Vector3 {
  const plane = building.roofPlanes.find(({ id }) => id === edge.planes[0]);
  if (!plane || Math.abs(plane.normal[2]) < 0.02) return [dx, dy, 0];
  return [dx, dy, planeElevationAt(plane, [at[0] + dx, at[1] + dy]) - planeElevationAt(plane, [at[0], at[1]])];
}

function distanceTo({ from, to }: RoofEdge, at: Vector3): number {
  const run = subtract(to, from);
  const share = Math.min(1, Math.max(0, dot(subtract(at, from), run) / Math.max(dot(run, run), 1e-12)));
  return length(subtract(at, [from[0] + run[0] * share, from[1] + run[1] * share, from[2] + run[2] * share]));
}
