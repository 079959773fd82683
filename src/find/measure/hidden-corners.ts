import { signedPlanArea } from '../../geometry/polygon.ts';
import { intersect, regionArea, unite } from '../../geometry/region.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import { SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import type { FoundEdge } from './edges/roof-edges.ts';
import type { MeasuredRoof } from './measure-building.ts';

/** Sides that would meet farther on than this end for another reason than a crown or a mast before their corner. [m] */
const FARTHEST = 2.5;
/** Sides whose lines cross less sharply meet anywhere. [-] */
const LEAST_SINE = 0.3;
/** Where this share of what lies beyond a cut was seen to be roof, nothing hides it: a dormer's cheek, the end of a wing. */
const SEEN_SHARE = 0.1;

/** A corner that is cut off by a side at which something stands before the roof: the sides beside it may go on behind that. */
export interface HiddenCorner {
  readonly face: number;
  /** The two sides, the vertex where each ends, and how far on the corner may lie in plan with what that may be off by at 95 %. [m] */
  readonly ends: readonly { readonly side: FoundEdge; readonly vertex: number; readonly reach: number }[];
  /** Of the triangle beyond the cut. [m²] */
  readonly planArea: number;
}

/**
 * Corners that a short side cuts off where points end at something upright or at no line at all: the crown of a tree, more often
 * than a wall aslant. Sides of which the lines are known would meet a little farther on, and the points do not tell.
 */
export function hiddenCorners({ edges, map, solved, rings }: Pick<MeasuredRoof, 'edges' | 'map' | 'solved' | 'rings'>): HiddenCorner[] {
  const at = (vertex: number): Vector2 => solved.positions[vertex]!;
  const seen = unite(...rings.map(({ outline }) => [outline]));
  const wasSeen = (triangle: readonly Vector2[]): boolean => {
    const area = signedPlanArea(triangle);
    const turned = area < 0 ? [...triangle].reverse() : triangle;
    return regionArea(intersect([turned], seen)) > SEEN_SHARE * Math.abs(area);
  };
  const sidesAt = new Map<string, FoundEdge[]>();
  const keyOf = (face: number, vertex: number): string => `${face} ${vertex}`;
  for (const edge of edges) for (const face of edge.faces) for (const vertex of edge.vertices) {
    const key = keyOf(face, vertex);
    sidesAt.set(key, [...(sidesAt.get(key) ?? []), edge]);
  }
  const isLine = ({ meets, piece }: FoundEdge): boolean => meets || map.pieces[piece]!.counted;
  return edges.flatMap((cut): HiddenCorner[] => {
    if (cut.faces.length !== 1 || cut.meets || (isLine(cut) && cut.kind !== 'abutment')) return [];
    const face = cut.faces[0]!;
    const [first, second] = cut.vertices.map((vertex) => sidesAt.get(keyOf(face, vertex))!.filter((side) => side !== cut));
    if (first?.length !== 1 || second?.length !== 1 || first[0] === second[0] || !isLine(first[0]!) || !isLine(second[0]!)) return [];
    const [from, to] = [sideTo(first[0]!, cut.vertices[0]), sideTo(second[0]!, cut.vertices[1])];
    const beyond = meeting(from, to, at);
    if (!beyond || wasSeen([at(from[1]), beyond.place, at(to[1])])) return [];
    const sigmaOf = ({ piece }: FoundEdge): number => map.pieces[piece]!.sigma;
    const reach = (ahead: number, other: FoundEdge): number => ahead + (SIGMAS_95 * sigmaOf(other)) / beyond.sine;
    return [{
      face, planArea: 0.5 * beyond.first * beyond.second * beyond.sine,
      ends: [
        { side: first[0]!, vertex: cut.vertices[0], reach: reach(beyond.first, second[0]!) },
        { side: second[0]!, vertex: cut.vertices[1], reach: reach(beyond.second, first[0]!) },
      ],
    }];
  });
}

/** The vertices of a side, the one given last. */
const sideTo = ({ vertices: [a, b] }: FoundEdge, end: number): readonly [number, number] => (b === end ? [a, b] : [b, a]);

/** Where two sides meet beyond their ends, how far on that is, and the sine of the angle there; null where they do not, or too far on. */
function meeting(
  [a, b]: readonly [number, number], [c, d]: readonly [number, number], at: (vertex: number) => Vector2,
): { first: number; second: number; sine: number; place: Vector2 } | null {
  const direction = ([x0, y0]: Vector2, [x1, y1]: Vector2): Vector2 => {
    const size = Math.hypot(x1 - x0, y1 - y0);
    return [(x1 - x0) / size, (y1 - y0) / size];
  };
  const [u, v] = [direction(at(a), at(b)), direction(at(c), at(d))];
  const sine = u[0] * v[1] - u[1] * v[0];
  if (!(Math.abs(sine) > LEAST_SINE)) return null;
  const [dx, dy] = [at(d)[0] - at(b)[0], at(d)[1] - at(b)[1]];
  const first = (dx * v[1] - dy * v[0]) / sine;
  const second = (dx * u[1] - dy * u[0]) / sine;
  if (!(first > 0 && second > 0 && first < FARTHEST && second < FARTHEST)) return null;
  return { first, second, sine: Math.abs(sine), place: [at(b)[0] + first * u[0], at(b)[1] + first * u[1]] };
}

/** How far a side may go on in plan: at each end as far as either of its planes says. [m] */
export function reachBeyond(hidden: readonly HiddenCorner[], edge: FoundEdge): number {
  const own = hidden.flatMap(({ ends }) => ends.filter(({ side }) => side === edge));
  return edge.vertices.reduce((sum, at) => sum + own.reduce((most, { vertex, reach }) => (vertex === at ? Math.max(most, reach) : most), 0), 0);
}
