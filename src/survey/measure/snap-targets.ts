import { subtract, length, type Vector3 } from '../../geometry/vector.ts';
import type { PlaneEvidence, RoofRecord } from '../../roof/record.ts';
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

/**
 * Collects what can be snapped to.
 *
 * @param refused  Ids a person refused: they are no targets.
 */
export function snapTargets(record: RoofRecord, refused: ReadonlySet<string> = new Set()): SnapTargets {
  const names = partNames(record);
  const corners = new CornerGrid();
  const edges: EdgeTarget[] = [];
  const planes: PlaneTarget[] = [];
  for (const building of record.buildings) {
    const slopes = new Map(building.roofPlanes.map(({ id, normal }) => [id, slopeOf(normal)]));
    const several = record.buildings.length > 1 ? `${building.id} ` : '';
    const own = new Map<string, PlaneTarget>();
    for (const plane of building.roofPlanes) {
      if (refused.has(plane.id)) continue;
      const name = several + names.get(plane.id)!;
      own.set(plane.id, {
        id: plane.id, name, normal: plane.normal, offset: plane.offset, outline: plane.outline, holes: plane.holes,
        evidence: plane.evidence ?? null, pointCount: plane.pointCount,
      });
      for (const ring of [plane.outline, ...plane.holes]) for (const at of ring) corners.add(at, plane.id, name, slopes.get(plane.id)!);
    }
    planes.push(...own.values());
    for (const edge of building.edges) {
      if (refused.has(edge.id)) continue;
      const sidewaysSigmaM = edge.positionM && isKnown(edge.positionM) ? edge.positionM.u95 / SIGMAS_IN_95 : null;
      edges.push({
        id: edge.id, key: edge.id, name: several + names.get(edge.id)!, from: edge.from, to: edge.to, sidewaysSigmaM,
        planes: edge.planes.flatMap((id) => own.get(id) ?? []), slope: Math.max(0, ...edge.planes.map((id) => slopes.get(id) ?? 0)),
      });
    }
  }
  return { corners: corners.merged(edges, planes), edges, planes };
}

/** Joins corners that several planes share. */
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

  merged(edges: readonly EdgeTarget[], targets: readonly PlaneTarget[]): CornerTarget[] {
    const sigmaAt = sigmaAtEnds(edges);
    const byId = new Map(targets.map((plane) => [plane.id, plane]));
    return this.found.map(({ at, planes, names, slope }) => ({
      at,
      slope,
      of: planes[0]!,
      name: `corner of ${names.join(', ')}`,
      key: `corner ${at[0].toFixed(3)} ${at[1].toFixed(3)} ${at[2].toFixed(3)}`,
      planeCount: planes.length,
      planes: planes.flatMap((id) => byId.get(id) ?? []),
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
