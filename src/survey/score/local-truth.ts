import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import type { Truth } from './truth.ts';

/** The truth in a record's local frame: source coordinates less the frame's origin. */
export function localTruth(truth: Truth, origin: Vector3): Truth {
  const p3 = (p: Vector3): Vector3 => [p[0] - origin[0], p[1] - origin[1], p[2] - origin[2]];
  const p2 = (p: Vector2): Vector2 => [p[0] - origin[0], p[1] - origin[1]];
  return {
    ...truth,
    buildings: truth.buildings.map((b) => ({ ...b, groundElevationM: b.groundElevationM - origin[2] })),
    planes: truth.planes.map((p) => ({ ...p, ring: p.ring.map(p3), holes: p.holes.map((hole) => hole.map(p3)) })),
    edges: truth.edges.map((e) => ({ ...e, from: p3(e.from), to: p3(e.to) })),
    obstructions: truth.obstructions.map((o) => ({ ...o, footprint: o.footprint.map(p2) })),
    parapets: truth.parapets.map((p) => ({ ...p, path: p.path.map(p3), topElevationM: p.topElevationM === null ? null : p.topElevationM - origin[2] })),
    drains: truth.drains.map((d) => ({ ...d, at: p3(d.at) })),
    curved: truth.curved.map((c) => ({ ...c, ring: c.ring.map(p2) })),
    groundElevationM: truth.groundElevationM - origin[2],
  };
}
