import { distanceToPlane, planeElevationAt } from '../../geometry/plane.ts';
import { signedPlanArea, surfaceArea } from '../../geometry/polygon.ts';
import { regionParts, unite } from '../../geometry/region.ts';
import { length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofEdge, RoofPlane } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { isKnown, measured, type Measured, type UncertaintyPart } from '../../units/measured.ts';
import { outlineCrossing } from '../measure/numbers.ts';
import { withRoofAreaOf } from './corrected-area.ts';

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

/** Which edges move, and what the doubt of it is called. */
export interface InsetChoice {
  /** Default: all free edges. */
  readonly moves?: (edge: RoofEdge) => boolean;
  /** Name of the part in every ± that changes. Default: what tapes show, which settles what they showed before. */
  readonly part?: string;
}

/**
 * Moves every free edge of a building sideways in plan: towards its plane where `inset` is positive. Edges where planes
 * meet stay on their lines, so a ridge ends where the moved verge now is. Areas and lengths are derived again.
 *
 * @param inset  [m]
 * @param u95  95 % half width of the inset. [m]
 * @throws InputError when an outline would cross itself or turn inside out.
 */
export function insetEdges(building: Building, inset: number, u95: number, { moves = isFree, part = EDGE_OFFSET }: InsetChoice = {}): Building {
  const planes = new Map(building.roofPlanes.map((plane) => [plane.id, plane]));
  const doubt = { name: part, u95 };
  const shiftAt = cornerShifts(building, inset, moves);
  const placeOf = movedCorners(building, shiftAt);
  const moving = building.edges.filter(moves);
  const roofPlanes = building.roofPlanes.map((plane) => movedPlane(plane, placeOf, freeLength(moving, plane.id), doubt));
  const outline = moves === isFree ? insetRing(building.outline, inset) : outlineOf(roofPlanes, building.outline);
  const strip = { planAreaM2: 0, slopeAreaM2: 0 };
  for (const { id, normal } of building.roofPlanes) {
    strip.planAreaM2 += freeLength(moving, id);
    strip.slopeAreaM2 += freeLength(moving, id) * steepness(normal);
  }
  const together = withRoofAreaOf(building, roofPlanes, (total, grown, area) => changed(total, grown, { ...doubt, u95: strip[area] * u95 }));
  return { ...together, outline, roofPlanes, edges: building.edges.map((edge) => movedEdge(edge, planes.get(edge.planes[0] ?? ''), shiftAt, placeOf, inset, doubt)) };
}

type PlaceOf = (corner: Vector3) => Vector3;

/**
 * Where each corner goes. One that planes have in common stays one: at the mean of the heights they carry it to, each as far
 * off its plane as before. A corner that does not move is the same three numbers.
 */
function movedCorners({ roofPlanes }: Building, shiftAt: (at: Vector3) => Vector2): PlaceOf {
  const heights = new Map<string, number[]>();
  for (const plane of roofPlanes) {
    for (const corner of [plane.outline, ...plane.holes].flat()) {
      const [dx, dy] = shiftAt(corner);
      const lifted = liftedAlong(plane, corner, [dx, dy])[2];
      const key = String(corner);
      const found = heights.get(key);
      if (found) found.push(lifted);
      else heights.set(key, [lifted]);
    }
  }
  return (corner) => {
    const [dx, dy] = shiftAt(corner);
    if (dx === 0 && dy === 0) return corner;
    const found = heights.get(String(corner)) ?? [corner[2]];
    return [corner[0] + dx, corner[1] + dy, found.reduce((sum, height) => sum + height, 0) / found.length];
  };
}

/** A place moved in plan along a plane: what it lay off it before, it lies off after. */
function liftedAlong(plane: RoofPlane, [x, y, z]: Vector3, [dx, dy]: Vector2): Vector3 {
  return [x + dx, y + dy, planeElevationAt(plane, [x + dx, y + dy]) + z - planeElevationAt(plane, [x, y])];
}

/** Largest part of all planes together, in plan. */
function outlineOf(planes: readonly RoofPlane[], before: readonly Vector2[]): readonly Vector2[] {
  const outers = regionParts(unite(...planes.map(({ outline }) => [outline.map(([x, y]): Vector2 => [x, y])]))).map((part) => part[0]!);
  return outers.reduce((a, b) => (signedPlanArea(b) > signedPlanArea(a) ? b : a), outers[0] ?? before);
}

/** An edge where a roof ends, so that where it is depends on what one calls its edge. */
export const isFree = (edge: RoofEdge): boolean => edge.planes.length === 1 && edge.kind !== 'abutment';

/** How far a corner moves in plan when every edge that moves, by default every free one, moves in by `inset`; zero where none ends. [m] */
export function cornerShifts(building: Building, inset: number, moves: (edge: RoofEdge) => boolean = isFree): (at: Vector2 | Vector3) => Vector2 {
  const planes = new Map(building.roofPlanes.map((plane) => [plane.id, plane]));
  const ends = new EdgeEnds(building.edges);
  return (at) => {
    const pulls = ends.at(at).flatMap((edge) => {
      const normal = squareTo(edge);
      if (!normal) return [];
      return [{ normal: isFree(edge) ? towards(planes.get(edge.planes[0]!), edge, normal) : normal, by: moves(edge) ? inset : 0 }];
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

/** Surface of a plane over its plan; of one that stands nearly upright no more than 50. [-] */
const steepness = (normal: Vector3): number => 1 / Math.max(normal[2], 0.02);

const turnsOver = (before: readonly Vector3[], after: readonly Vector3[]): boolean => signedPlanArea(before) * signedPlanArea(after) < 0;

function movedPlane(plane: RoofPlane, placeOf: PlaceOf, free: number, doubt: UncertaintyPart): RoofPlane {
  const [outline, holes] = [plane.outline.map(placeOf), plane.holes.map((hole) => hole.map(placeOf))];
  // An outline that crossed itself before is no fault of the move.
  const crossing = outlineCrossing(plane.outline) ? null : (outlineCrossing(outline) ?? (turnsOver(plane.outline, outline) ? 'the outline turns inside out' : null));
  if (crossing) throw new InputError(`plane ${plane.id}`, `${crossing} when its edges move; correct it by hand first.`);
  const area = (of: (ring: readonly Vector3[]) => number): number => of(outline) - of(plane.outline) - holes.reduce((sum, hole, i) => sum + of(hole) - of(plane.holes[i]!), 0);
  // Sides drawn to rules were found where the edges lay before.
  const { regular: _before, ...rest } = plane;
  const cornersOffPlaneM = [outline, ...holes].flat().reduce((most, corner) => Math.max(most, Math.abs(distanceToPlane(plane, corner))), 0);
  return {
    ...rest,
    outline,
    holes,
    ...(plane.evidence ? { evidence: { ...plane.evidence, cornersOffPlaneM } } : {}),
    planAreaM2: changed(plane.planAreaM2, area((ring) => Math.abs(signedPlanArea(ring))), { ...doubt, u95: free * doubt.u95 }),
    slopeAreaM2: changed(plane.slopeAreaM2, area(surfaceArea), { ...doubt, u95: free * doubt.u95 * steepness(plane.normal) }),
  };
}

const isCornerOf = ({ outline, holes }: RoofPlane, [x, y, z]: Vector3): boolean => [outline, ...holes].some((ring) => ring.some(([u, v, w]) => u === x && v === y && w === z));

/** Ends of an edge follow its corners, on the plane it borders; an edge of two planes stays on their common line. */
function movedEdge(edge: RoofEdge, plane: RoofPlane | undefined, shiftAt: (at: Vector3) => Vector2, placeOf: PlaceOf, inset: number, doubt: UncertaintyPart): RoofEdge {
  const run = subtract(edge.to, edge.from);
  const shifts = [shiftAt(edge.from), shiftAt(edge.to)] as const;
  // Ends on a corner of its planes go with it; others along the plane.
  const moved = (end: Vector3, shift: Vector2): Vector3 => {
    if ((shift[0] === 0 && shift[1] === 0) || !plane) return end;
    return isCornerOf(plane, end) ? placeOf(end) : liftedAlong(plane, end, shift);
  };
  const [from, to] = [moved(edge.from, shifts[0]), moved(edge.to, shifts[1])];
  const grown = length(subtract(to, from)) - length(run);
  // An end goes along its edge by a multiple of the inset: 1 where the moving edge is square to it, little where it is the moving one.
  const size = Math.hypot(run[0], run[1]);
  const ends = size > 1e-9 && inset !== 0 ? shifts.reduce((sum, [dx, dy]) => sum + Math.abs((dx * run[0] + dy * run[1]) / (size * inset)), 0) * (length(run) / size) : 0;
  const { regular: _before, ...rest } = edge;
  return { ...rest, from, to, slopeLengthM: changed(edge.slopeLengthM, grown, { ...doubt, u95: ends * doubt.u95 }) };
}

/**
 * A number that grew, with the doubt of that among its parts; a part of nothing is not written. What tapes show now takes the
 * place of what they showed before; other offsets, stated one after the other, are independent.
 */
export function changed(number: Measured, by: number, doubt: UncertaintyPart): Measured {
  if (!isKnown(number) || (by === 0 && doubt.u95 === 0)) return number;
  const parts = number.parts ?? [{ name: 'as found', u95: number.u95 }];
  const before = doubt.name === EDGE_OFFSET ? 0 : (parts.find(({ name }) => name === doubt.name)?.u95 ?? 0);
  return measured(number.value + by, [...parts.filter(({ name }) => name !== doubt.name), { name: doubt.name, u95: Math.hypot(before, doubt.u95) }]);
}
