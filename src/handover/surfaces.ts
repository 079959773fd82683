import { triangulateRing } from '../geometry/triangulate-ring.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { obstructionSolid, solidFaces } from './obstruction-solid.ts';

/** One thing as triangles in local-frame metres, outward side counter-clockwise. */
export interface TriangleSurface {
  readonly id: string;
  readonly building: string;
  readonly what: 'roof-plane' | 'obstruction' | 'module';
  readonly corners: readonly Vector3[];
  /** Three indices into `corners` each. */
  readonly triangles: readonly number[];
}

/** Roof planes, obstructions of known height and module places as triangles, in the order of the record. */
export function triangleSurfaces(record: RoofRecord): TriangleSurface[] {
  const surfaces: TriangleSurface[] = [];
  const home = new Map<string, string>();
  for (const building of record.buildings) {
    for (const plane of building.roofPlanes) {
      home.set(plane.id, building.id);
      surfaces.push({ id: plane.id, building: building.id, what: 'roof-plane', ...triangulateRing([plane.outline, ...plane.holes]) });
    }
    for (const thing of building.obstructions) {
      const plane = building.roofPlanes.find((one) => one.id === thing.onPlane);
      const solid = plane === undefined ? null : obstructionSolid(thing, plane);
      if (solid !== null) surfaces.push({ id: thing.id, building: building.id, what: 'obstruction', ...fanned(solidFaces(solid)) });
    }
  }
  for (const module of record.layout?.modules ?? []) {
    surfaces.push({ id: module.id, building: home.get(module.plane) ?? '', what: 'module', ...triangulateRing([module.corners]) });
  }
  return surfaces.filter((surface) => surface.triangles.length > 0);
}

/** Faces of three or four corners as triangles; every face keeps its own corners, so that flat sides look flat. */
function fanned(faces: readonly (readonly Vector3[])[]): { readonly corners: Vector3[]; readonly triangles: number[] } {
  const corners: Vector3[] = [];
  const triangles: number[] = [];
  for (const face of faces) {
    const start = corners.length;
    corners.push(...face);
    for (let i = 1; i + 1 < face.length; i++) triangles.push(start, start + i, start + i + 1);
  }
  return { corners, triangles };
}
