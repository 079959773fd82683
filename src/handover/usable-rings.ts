import { ringContains, signedPlanArea } from '../geometry/polygon.ts';
import type { Vector3 } from '../geometry/vector.ts';

/**
 * Sorts loose rings (outer ones counter-clockwise from above, holes clockwise) into polygons: each outer ring first,
 * followed by the holes that lie in it. A hole goes to the smallest outer ring that holds it.
 */
export function ringsOfUsable(rings: readonly (readonly Vector3[])[]): (readonly Vector3[])[][] {
  const sized = rings.filter((ring) => ring.length >= 3).map((ring) => ({ ring, area: signedPlanArea(ring) }));
  const polygons = sized.filter((one) => one.area > 0).map((one) => ({ area: one.area, rings: [one.ring] }));
  const bySize = polygons.toSorted((a, b) => a.area - b.area);
  for (const { ring } of sized.filter((one) => one.area < 0)) {
    const [x, y] = ring[0]!;
    bySize.find((polygon) => ringContains(polygon.rings[0]!, [x, y]))?.rings.push(ring);
  }
  return polygons.map((polygon) => polygon.rings);
}
