import { planeElevationAt } from '../../geometry/plane.ts';
import { signedPlanArea, surfaceArea } from '../../geometry/polygon.ts';
import { length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofEdge, RoofPlane } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { isKnown, measured, type Measured } from '../../units/measured.ts';
import { outlineCrossing } from '../measure/numbers.ts';
import { withoutRoofArea } from './corrected-area.ts';

/** Corners and ends nearer than this in plan are one place. [m] */
const SAME_PLACE_M = 0.05;
const EDGE_OFFSET = 'edge offset';
/** A corner moves no farther than this times its edges: 3 is a corner of 39°; sharper ones are slivers. */
const MOST_SHIFT = 3;

/** What moves a corner: the line square to `normal` goes by `by`. [m] */
interface Pull {
  readonly normal: Vector2;
  readonly by: number;
}

/**
 * Moves every free edge of a building sideways in plan: towards its plane where `inset` is positive. Edges where planes
 * meet stay on their lines, so a ridge ends where the moved verge now is. Areas and lengths are derived again.
 *
 * @param inset  [m]
 * @param u95  95 % half width of the inset. [m]
 * @throws InputError when an outline would cross itself or turn inside out.
 */
export function insetEdges(building: Building, inset: number, u95: number): Building {
  const planes = new Map(building.roofPlanes.map((plane) => [plane.id, plane]));
  const shiftAt = cornerShifts(building, inset);
  const roofPlanes = building.roofPlanes.map((plane) => movedPlane(plane, shiftAt, freeLength(building.edges.filter(isFree), plane.id), u95));
  return { ...withoutRoofArea(building), outline: insetRing(building.outline, inset), roofPlanes, edges: building.edges.map((edge) => movedEdge(edge, planes.get(edge.planes[0] ?? ''), shiftAt, u95)) };
}

/** An edge where a roof ends, so that where it is depends on what one calls its edge. */
export const isFree = (edge: RoofEdge): boolean => edge.planes.length === 1 && edge.kind !== 'abutment';

/** How far a corner moves in plan when every free edge moves in by `inset`; zero where no free edge ends. [m] */
export function cornerShifts(building: Building, inset: number): (at: Vector2 | Vector3) => Vector2 {
  const planes = new Map(building.roofPlanes.map((plane) => [plane.id, plane]));
  const ends = new EdgeEnds(building.edges);
  return (at) => {
    const pulls = ends.at(at).flatMap((edge) => {
      const normal = squareTo(edge);
      if (!normal) return [];
      return [{ normal: isFree(edge) ? towards(planes.get(edge.planes[0]!), edge, normal) : normal, by: isFree(edge) ? inset : 0 }];
    });
    return pulls.some(({ by }) => by !== 0) ? shiftOf(pulls) : [0, 0];
  };
}

/** Edges by where they end in plan. */
export class EdgeEnds {
  private readonly squares = new Map<string, RoofEdge[]>();

  constructor(edges: readonly RoofEdge[]) {
    for (const edge of edges) {
      for (const key of new Set([keyOf(edge.from[0], edge.from[1]), keyOf(edge.to[0], edge.to[1])])) {
        const square = this.squares.get(key);
        if (square) square.push(edge);
        else this.squares.set(key, [edge]);
      }
    }
  }

  /** Edges with an end at a place, in the order of the building. */
  at(place: Vector2 | Vector3): RoofEdge[] {
    const [x, y] = place;
    const keys = new Set([-SAME_PLACE_M, SAME_PLACE_M].flatMap((dx) => [-SAME_PLACE_M, SAME_PLACE_M].map((dy) => keyOf(x + dx, y + dy))));
    const found = new Set<RoofEdge>();
    for (const key of keys) for (const edge of this.squares.get(key) ?? []) if (isNear(edge.from, place) || isNear(edge.to, place)) found.add(edge);
    return [...found];
  }
}

const keyOf = (x: number, y: number): string => `${Math.floor(x)},${Math.floor(y)}`;

/** Unit vector in plan from a free edge towards its plane; null for an upright edge. */
export function inwardOf(building: Building, edge: RoofEdge): Vector2 | null {
  const normal = squareTo(edge);
  return normal && towards(building.roofPlanes.find(({ id }) => id === edge.planes[0]), edge, normal);
}

const isNear = (a: Vector2 | Vector3, b: Vector2 | Vector3): boolean => Math.hypot(a[0] - b[0], a[1] - b[1]) < SAME_PLACE_M;

/** Unit vector square to an edge in plan; null for an edge that stands upright. */
function squareTo({ from, to }: RoofEdge): Vector2 | null {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const run = Math.hypot(dx, dy);
  return run > 1e-6 ? [-dy / run, dx / run] : null;
}

/** The normal, turned to the side on which the edge's plane lies: rings run counter-clockwise, holes clockwise. */
function towards(plane: RoofPlane | undefined, edge: RoofEdge, normal: Vector2): Vector2 {
  for (const ring of plane ? [plane.outline, ...plane.holes] : []) {
    const at = ring.findIndex((corner, i) => isNear(corner, edge.from) && isNear(ring[(i + 1) % ring.length]!, edge.to));
    if (at >= 0) return normal;
    const against = ring.findIndex((corner, i) => isNear(corner, edge.to) && isNear(ring[(i + 1) % ring.length]!, edge.from));
    if (against >= 0) return [-normal[0], -normal[1]];
  }
  return [0, 0];
}

/** Least squares of all pulls; of the shifts that suit them equally well the shortest. */
function shiftOf(pulls: readonly Pull[]): Vector2 {
  let [xx, xy, yy, x, y] = [0, 0, 0, 0, 0];
  for (const { normal: [a, b], by } of pulls) {
    xx += a * a;
    xy += a * b;
    yy += b * b;
    x += a * by;
    y += b * by;
  }
  const determinant = xx * yy - xy * xy;
  if (determinant > 1e-3) {
    const shift: Vector2 = [(yy * x - xy * y) / determinant, (xx * y - xy * x) / determinant];
    const [size, most] = [Math.hypot(...shift), MOST_SHIFT * Math.max(...pulls.map(({ by }) => Math.abs(by)))];
    return size > most ? [(shift[0] * most) / size, (shift[1] * most) / size] : shift;
  }
  // All in one direction: the shift lies along it.
  const sum = xx + yy;
  return sum > 0 ? [x / sum, y / sum] : [0, 0];
}

/** A closed ring with every side moved inwards. */
export function insetRing(ring: readonly Vector2[], inset: number): Vector2[] {
  const turn = Math.sign(signedPlanArea(ring)) || 1;
  const normals = ring.map((corner, i): Vector2 | null => {
    const next = ring[(i + 1) % ring.length]!;
    const run = Math.hypot(next[0] - corner[0], next[1] - corner[1]);
    return run > 1e-9 ? [(-turn * (next[1] - corner[1])) / run, (turn * (next[0] - corner[0])) / run] : null;
  });
  return ring.map(([x, y], i) => {
    const pulls = [normals[(i + ring.length - 1) % ring.length], normals[i]].flatMap((normal) => (normal ? [{ normal, by: inset }] : []));
    const [dx, dy] = shiftOf(pulls);
    return [x + dx, y + dy];
  });
}

/** Free edges of a plane together, in plan. [m] */
const freeLength = (edges: readonly RoofEdge[], plane: string): number =>
  edges.reduce((sum, { planes, from, to }) => (planes[0] === plane ? sum + Math.hypot(to[0] - from[0], to[1] - from[1]) : sum), 0);

const turnsOver = (before: readonly Vector3[], after: readonly Vector3[]): boolean => signedPlanArea(before) * signedPlanArea(after) < 0;

function movedPlane(plane: RoofPlane, shiftAt: (at: Vector3) => Vector2, free: number, u95: number): RoofPlane {
  const move = (corner: Vector3): Vector3 => {
    const [dx, dy] = shiftAt(corner);
    if (dx === 0 && dy === 0) return corner;
    const at: Vector2 = [corner[0] + dx, corner[1] + dy];
    return [...at, planeElevationAt(plane, at)];
  };
  const [outline, holes] = [plane.outline.map(move), plane.holes.map((hole) => hole.map(move))];
  // An outline that crossed itself before is no fault of the move.
  const crossing = outlineCrossing(plane.outline) ? null : (outlineCrossing(outline) ?? (turnsOver(plane.outline, outline) ? 'the outline turns inside out' : null));
  if (crossing) throw new InputError(`plane ${plane.id}`, `${crossing} when its edges move; correct it by hand first.`);
  const area = (of: (ring: readonly Vector3[]) => number): number => of(outline) - of(plane.outline) - holes.reduce((sum, hole, i) => sum + of(hole) - of(plane.holes[i]!), 0);
  // Sides drawn to rules were found where the edges lay before.
  const { regular: _before, ...rest } = plane;
  return {
    ...rest,
    outline,
    holes,
    planAreaM2: changed(plane.planAreaM2, area((ring) => Math.abs(signedPlanArea(ring))), free * u95),
    slopeAreaM2: changed(plane.slopeAreaM2, area(surfaceArea), (free * u95) / Math.max(plane.normal[2], 0.02)),
  };
}

/** Ends of an edge follow its corners, on the plane it borders; an edge of two planes stays on their common line. */
function movedEdge(edge: RoofEdge, plane: RoofPlane | undefined, shiftAt: (at: Vector3) => Vector2, u95: number): RoofEdge {
  const run = subtract(edge.to, edge.from);
  const shifts = [shiftAt(edge.from), shiftAt(edge.to)] as const;
  const moved = (end: Vector3, [dx, dy]: Vector2): Vector3 => {
    if ((dx === 0 && dy === 0) || !plane) return end;
    // What the end lay off its plane before, it lies off after.
    const off = end[2] - planeElevationAt(plane, [end[0], end[1]]);
    const at: Vector2 = [end[0] + dx, end[1] + dy];
    return [...at, planeElevationAt(plane, at) + off];
  };
  const [from, to] = [moved(edge.from, shifts[0]), moved(edge.to, shifts[1])];
  const grown = length(subtract(to, from)) - length(run);
  const ends = shifts.filter(([dx, dy]) => Math.abs(dx * run[0] + dy * run[1]) > 1e-9).length;
  const { regular: _before, ...rest } = edge;
  return { ...rest, from, to, slopeLengthM: changed(edge.slopeLengthM, grown, ends * u95) };
}

function changed(number: Measured, by: number, u95: number): Measured {
  if (!isKnown(number)) return number;
  const parts = number.parts ?? [{ name: 'as found', u95: number.u95 }];
  return measured(number.value + by, [...parts.filter(({ name }) => name !== EDGE_OFFSET), { name: EDGE_OFFSET, u95 }]);
}
