import { distanceToRing } from '../../geometry/ring-distance.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { add, cross, dot, length, normalize, scale, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofPlane } from '../../roof/record.ts';
import type { CornerTarget, EdgeTarget, PlaneTarget, SnapTargets } from '../measure/snap-targets.ts';
import { sin } from '../../geometry/same-math.ts';

/** Planes whose outlines come this near to each other may meet there. [m] */
const NEIGHBOURS_M = 1;
/** A line of two planes is offered this far beyond their outlines. [m] */
const BEYOND_M = 2;
/** Planes that lean apart by less have no line worth placing a corner on: 1.5°. */
const LEAST_SINE = sin((1.5 * Math.PI) / 180);

/**
 * Targets with the places where planes of a building meet: lines of two of them, corners of three. Only there can a
 * corner stand that several planes share.
 */
export function withMeetings(targets: SnapTargets, building: Building | null): SnapTargets {
  if (!building) return targets;
  const name = (plane: RoofPlane): string => targets.planes.find(({ id }) => id === plane.id)?.name ?? plane.id;
  const targetOf = (plane: RoofPlane): readonly PlaneTarget[] => targets.planes.filter(({ id }) => id === plane.id);
  const planes = building.roofPlanes.filter(({ normal }) => normal[2] > 0.05);
  const edges: EdgeTarget[] = [];
  const corners: CornerTarget[] = [];
  planes.forEach((a, i) =>
    planes.slice(i + 1).forEach((b, j) => {
      if (!areNeighbours(a, b)) return;
      const line = meetingLine(a, b);
      if (line) edges.push({ id: `${a.id}+${b.id}`, key: `meeting ${a.id} ${b.id}`, name: `where ${name(a)} and ${name(b)} meet`, ...line, sidewaysSigmaM: sigmaOfLine(a, b), planes: [a, b].flatMap(targetOf), slope: Math.max(slopeOf(a), slopeOf(b)) });
      for (const c of planes.slice(i + j + 2)) {
        if (!areNeighbours(a, c) || !areNeighbours(b, c)) continue;
        const at = meetingPoint(a, b, c);
        if (!at || [a, b, c].some(({ outline }) => awayFrom(outline, at) > BEYOND_M)) continue;
        const sigmas = [sigmaOfLine(a, b), sigmaOfLine(b, c), sigmaOfLine(a, c)].filter((sigma) => sigma !== null);
        corners.push({ at, of: a.id, name: `place where ${name(a)}, ${name(b)} and ${name(c)} meet`, key: `meeting ${a.id} ${b.id} ${c.id}`, sidewaysSigmaM: sigmas.length > 0 ? Math.max(...sigmas) : null, planeCount: 3, planes: [a, b, c].flatMap(targetOf), slope: Math.max(slopeOf(a), slopeOf(b), slopeOf(c)) });
      }
    }),
  );
  return { ...targets, corners: [...targets.corners, ...corners], edges: [...targets.edges, ...edges] };
}

const slopeOf = ({ normal }: RoofPlane): number => Math.min(4, Math.hypot(normal[0], normal[1]) / normal[2]);

const awayFrom = (ring: readonly Vector3[], at: Vector3): number => {
  const place: Vector2 = [at[0], at[1]];
  return ringContains(ring, place) ? 0 : distanceToRing(ring, place);
};

const areNeighbours = (a: RoofPlane, b: RoofPlane): boolean =>
  a.outline.some((corner) => awayFrom(b.outline, corner) < NEIGHBOURS_M) || b.outline.some((corner) => awayFrom(a.outline, corner) < NEIGHBOURS_M);

/** The stretch of two planes' line along their outlines; null where they run alike. */
function meetingLine(a: RoofPlane, b: RoofPlane): { readonly from: Vector3; readonly to: Vector3 } | null {
  const turn = cross(a.normal, b.normal);
  if (length(turn) < LEAST_SINE) return null;
  const cosine = dot(a.normal, b.normal);
  const share = 1 / (1 - cosine * cosine);
  const base = add(scale(a.normal, (-a.offset + b.offset * cosine) * share), scale(b.normal, (-b.offset + a.offset * cosine) * share));
  const direction = normalize(turn);
  const along = [a, b].map(({ outline }) => outline.map((corner) => dot(subtract(corner, base), direction)));
  const from = Math.max(Math.min(...along[0]!), Math.min(...along[1]!)) - BEYOND_M;
  const to = Math.min(Math.max(...along[0]!), Math.max(...along[1]!)) + BEYOND_M;
  return to > from ? { from: add(base, scale(direction, from)), to: add(base, scale(direction, to)) } : null;
}

/** Cramer's rule on the three plane equations; null where two of them run alike. */
function meetingPoint(a: RoofPlane, b: RoofPlane, c: RoofPlane): Vector3 | null {
  const volume = dot(a.normal, cross(b.normal, c.normal));
  if (Math.abs(volume) < LEAST_SINE * LEAST_SINE) return null;
  const sum = add(add(scale(cross(b.normal, c.normal), -a.offset), scale(cross(c.normal, a.normal), -b.offset)), scale(cross(a.normal, b.normal), -c.offset));
  return scale(sum, 1 / volume);
}

/** One sigma sideways of the line of two planes: their heights' doubt over how fast they part; null where no doubt is known. [m] */
function sigmaOfLine(a: RoofPlane, b: RoofPlane): number | null {
  const heights = [a, b].map(({ evidence }) => evidence?.covariance[0]);
  if (heights.some((variance) => variance === undefined)) return null;
  const parting = Math.hypot(a.normal[0] / a.normal[2] - b.normal[0] / b.normal[2], a.normal[1] / a.normal[2] - b.normal[1] / b.normal[2]);
  return Math.sqrt(heights[0]! + heights[1]!) / Math.max(parting, 1e-6);
}
