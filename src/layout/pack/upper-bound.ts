import { regionArea, regionParts, subtractRegion, unite, type Region, type Ring } from '../../geometry/region.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import type { PackProblem, PackShape } from './pack-types.ts';

/** Shapes are taken this much smaller when looking where they fit, so that an exact fit is not lost to rounding. [m] */
const SLACK = 0.002;

/**
 * A count no layout can exceed. Only ground that some placement can cover counts (the union of all places a shape may
 * stand, an opening of the free area), part by part, and each rectangle takes its own area plus, between neighbours, the
 * gap: the parts are widened by half a gap all round.
 */
export function moduleUpperBound(problem: PackProblem): number {
  const { shapes, gapX, gapY } = problem;
  const perModule = Math.min(...shapes.map((shape) => ((shape.width + gapX) * (shape.height + gapY)) / shape.modules));
  let bound = 0;
  for (const part of regionParts(unite(...shapes.map((shape) => coverable(problem.region, shape))))) {
    const widened = gapX > 0 || gapY > 0 ? dilated(part, gapX / 2, gapX / 2, gapY / 2, gapY / 2) : part;
    bound += Math.floor(regionArea(widened) / perModule + 1e-6);
  }
  return bound;
}

/** All ground a shape can cover somewhere inside a region. */
export function coverable(region: Region, shape: PackShape): Region {
  const width = shape.width - SLACK;
  const height = shape.height - SLACK;
  // Lower left corners at which the shape stays inside: the region less everything a rim piece sweeps leftwards and down.
  const corners = subtractRegion(region, swept(region, -width, 0, -height, 0));
  return corners.length === 0 ? [] : dilated(corners, 0, width + SLACK, 0, height + SLACK);
}

const dilated = (region: Region, left: number, right: number, below: number, above: number): Region =>
  unite(region, swept(region, -left, right, -below, above));

/** Ground a box with the given sides about its anchor touches when the anchor runs along the rim. */
function swept(region: Region, x0: number, x1: number, y0: number, y1: number): Region {
  const pieces: Ring[] = [];
  for (const ring of region) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) pieces.push(sweptPiece(ring[j]!, ring[i]!, x0, x1, y0, y1));
  }
  return unite(pieces);
}

/** Convex outline of a box moved along a straight piece. */
function sweptPiece(a: Vector2, b: Vector2, x0: number, x1: number, y0: number, y1: number): Ring {
  const [p, q] = a[0] < b[0] || (a[0] === b[0] && a[1] <= b[1]) ? [a, b] : [b, a];
  const rising = q[1] >= p[1];
  return rising
    ? [[p[0] + x0, p[1] + y0], [p[0] + x1, p[1] + y0], [q[0] + x1, q[1] + y0], [q[0] + x1, q[1] + y1], [q[0] + x0, q[1] + y1], [p[0] + x0, p[1] + y1]]
    : [[p[0] + x0, p[1] + y0], [q[0] + x0, q[1] + y0], [q[0] + x1, q[1] + y0], [q[0] + x1, q[1] + y1], [p[0] + x1, p[1] + y1], [p[0] + x0, p[1] + y1]];
}
