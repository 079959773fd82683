import { subtract, length, type Vector3 } from '../../geometry/vector.ts';
import type { Building, PlaneEvidence, RoofRecord } from '../../roof/record.ts';
import { isKnown } from '../../units/measured.ts';
import { partNames } from '../../roof/part-names.ts';

export interface CornerTarget {
  readonly at: Vector3;
  readonly of: string | null;
  readonly name: string;
  readonly key: string;
  /** One sigma sideways, of the edges that meet here; null when no edge tells. [m] */
  readonly sidewaysSigmaM: number | null;
  /** How many planes meet here. */
  readonly planeCount: number;
  /** Those of them that are targets: they say how high it is, and three of them where. */
  readonly planes: readonly PlaneTarget[];
  /** Rise over run of the steepest of them: what a sideways error does to the height. */
  readonly slope: number;
}

export interface EdgeTarget {
  readonly id: string;
  readonly key: string;
  readonly name: string;
  readonly from: Vector3;
  readonly to: Vector3;
  readonly sidewaysSigmaM: number | null;
  /** Planes that end here: they say how high it is. */
  readonly planes: readonly PlaneTarget[];
  /** Rise over run of the steepest plane that ends here. */
  readonly slope: number;
}

export interface PlaneTarget {
  readonly id: string;
  readonly name: string;
  readonly normal: Vector3;
  readonly offset: number;
  readonly outline: readonly Vector3[];
  readonly holes: readonly (readonly Vector3[])[];
  readonly evidence: PlaneEvidence | null;
  readonly pointCount: number;
}

/** Everything a pointer may take of a record. */
export interface SnapTargets {
  readonly corners: readonly CornerTarget[];
  readonly edges: readonly EdgeTarget[];
  readonly planes: readonly PlaneTarget[];
}

/** Corners of two planes nearer than this are one corner. [m] */
const SAME_CORNER_M = 0.05;
const SIGMAS_IN_95 = 1.96;

/** Targets by building and by what else they depend on: those of a building that did not change are not made again. */
const known = new WeakMap<Building, { readonly key: string; readonly targets: SnapTargets }>();

/**
 * Collects what can be snapped to.
 *
 * @param refused  Ids a person refused: they are no targets.
 */
export function snapTargets(record: RoofRecord, refused: ReadonlySet<string> = new Set()): SnapTargets {
  const names = partNames(record);
  const parts = record.buildings.map((building) => buildingTargets(building, names, refused, record.buildings.length > 1));
  return { corners: parts.flatMap(({ corners }) => corners), edges: parts.flatMap(({ edges }) => edges), planes: parts.flatMap(({ planes }) => planes) };
}

/**
 * Targets of one building, for making those of a site piece by piece before they are asked for.
 *
 * @param names  Of all parts of the record; those of a building depend on it alone.
 * @param several  Whether the record has other buildings, so that names must say which.
 */
export function buildingTargets(building: Building, names: ReadonlyMap<string, string>, refused: ReadonlySet<string>, several: boolean): SnapTargets {
  const key = `${several} ${[...refused].filter((id) => id.startsWith(`${building.id}.`)).join(' ')}`;
  const before = known.get(building);
  if (before?.key === key) return before.targets;
  const targets = makeTargets(building, (id) => (several ? `${building.id} ${names.get(id)!}` : names.get(id)!), refused);
  known.set(building, { key, targets });
  return targets;
}

function makeTargets(building: Building, nameOf: (id: string) => string, refused: ReadonlySet<string>): SnapTargets {
  const corners = new CornerGrid();
  const slopes = new Map(building.roofPlanes.map(({ id, normal }) => [id, slopeOf(normal)]));
  const planes = new Map<string, PlaneTarget>();
  for (const plane of building.roofPlanes) {
    if (refused.has(plane.id)) continue;
    const name = nameOf(plane.id);
    planes.set(plane.id, {
      id: plane.id, name, normal: plane.normal, offset: plane.offset, outline: plane.outline, holes: plane.holes,
      evidence: plane.evidence ?? null, pointCount: plane.pointCount,
    });
    for (const ring of [plane.outline, ...plane.holes]) for (const at of ring) corners.add(at, plane.id, name, slopes.get(plane.id)!);
  }
  const edges = building.edges.filter(({ id }) => !refused.has(id)).map((edge): EdgeTarget => ({
    id: edge.id, key: edge.id, name: nameOf(edge.id), from: edge.from, to: edge.to,
    sidewaysSigmaM: edge.positionM && isKnown(edge.positionM) ? edge.positionM.u95 / SIGMAS_IN_95 : null,
    planes: edge.planes.flatMap((id) => planes.get(id) ?? []), slope: Math.max(0, ...edge.planes.map((id) => slopes.get(id) ?? 0)),
  }));
  return { corners: corners.merged(edges, planes), edges, planes: [...planes.values()] };
}

/** Joins corners that several planes of a building share. */
class CornerGrid {
  private readonly found: { at: Vector3; planes: string[]; names: string[]; slope: number }[] = [];
  private readonly bins = new Map<string, number[]>();

  add(at: Vector3, plane: string, name: string, slope: number): void {
    const [i, j] = [Math.floor(at[0] / SAME_CORNER_M), Math.floor(at[1] / SAME_CORNER_M)];
    for (let di = -1; di <= 1; di++) {
      for (let dj = -1; dj <= 1; dj++) {
        for (const index of this.bins.get(`${i + di},${j + dj}`) ?? []) {
          const corner = this.found[index]!;
          if (length(subtract(corner.at, at)) > SAME_CORNER_M) continue;
          corner.slope = Math.max(corner.slope, slope);
          if (!corner.planes.includes(plane)) {
            corner.planes.push(plane);
            corner.names.push(name);
          }
          return;
        }
      }
    }
    const key = `${i},${j}`;
    this.bins.set(key, [...(this.bins.get(key) ?? []), this.found.length]);
    this.found.push({ at, planes: [plane], names: [name], slope });
  }

  merged(edges: readonly EdgeTarget[], targets: ReadonlyMap<string, PlaneTarget>): CornerTarget[] {
    const sigmaAt = sigmaAtEnds(edges);
    return this.found.map(({ at, planes, names, slope }) => ({
      at,
      slope,
      of: planes[0]!,
      name: `corner of ${names.join(', ')}`,
      key: `corner ${at[0].toFixed(3)} ${at[1].toFixed(3)} ${at[2].toFixed(3)}`,
      planeCount: planes.length,
      planes: planes.flatMap((id) => targets.get(id) ?? []),
      sidewaysSigmaM: sigmaAt(at),
    }));
  }
}

/** Steeper than this is a wall, whose height a sideways error does not change without end. */
const STEEPEST = 4;

const slopeOf = ([x, y, z]: Vector3): number => Math.min(STEEPEST, Math.hypot(x, y) / Math.max(z, 1e-6));

/** Largest sideways sigma of the edges that end near a place; looked up by plan square. */
function sigmaAtEnds(edges: readonly EdgeTarget[]): (at: Vector3) => number | null {
  const ends = new Map<string, { readonly at: Vector3; readonly sigma: number }[]>();
  const square = (value: number): number => Math.floor(value / SAME_CORNER_M);
  for (const { from, to, sidewaysSigmaM } of edges) {
    if (sidewaysSigmaM === null) continue;
    for (const at of [from, to]) {
      const key = `${square(at[0])},${square(at[1])}`;
      const list = ends.get(key);
      if (list) list.push({ at, sigma: sidewaysSigmaM });
      else ends.set(key, [{ at, sigma: sidewaysSigmaM }]);
    }
  }
  return (at) => {
    let worst: number | null = null;
    for (let i = -1; i <= 1; i++) {
      for (let j = -1; j <= 1; j++) {
        for (const end of ends.get(`${square(at[0]) + i},${square(at[1]) + j}`) ?? []) {
          if (length(subtract(end.at, at)) <= SAME_CORNER_M) worst = Math.max(worst ?? 0, end.sigma);
        }
      }
    }
    return worst;
  };
}
