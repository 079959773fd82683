import { planeElevationAt } from '../../geometry/plane.ts';
import { signedPlanArea } from '../../geometry/polygon.ts';
import { intersect, regionArea, type Region } from '../../geometry/region.ts';
import { distanceToRing } from '../../geometry/ring-distance.ts';
import { length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Building, LowPoint, Obstruction, Parapet, RoofEdge, RoofPlane } from '../../roof/record.ts';

/** Planes of one place whose heights differ by more are two planes. [m] */
const ONE_LEVEL_M = 0.6;
/** Least shared part of the two together for them to be the same part. [-] */
const SAME_SHARE = 0.25;
/** How far an edge's ends, a parapet or a low point may have shifted. [m] */
const SHIFTED_M = 0.6;

/**
 * Gives the parts of a building that was measured anew the ids they had, so that decisions and readings still find them;
 * new parts get ids that no part ever had. A part that is the same to the last digit is the same object.
 *
 * @param surveyed  The building before any hand touched it: finds parts that hands moved far.
 * @param taken  Ids that were ever given.
 */
export function keepNames(fresh: Building, before: Building, surveyed: Building | null, taken: ReadonlySet<string>): Building {
  const nextId = idMaker(fresh.id, new Set([...taken, ...idsOf(before)]));
  const planes = pairUp(fresh.roofPlanes, before.roofPlanes, samePlane);
  const planeId = new Map(fresh.roofPlanes.map((plane) => [plane.id, planes.get(plane)?.id ?? nextId('p')]));
  const named = (id: string): string => planeId.get(id) ?? id;
  const edges = fresh.edges.map((edge) => ({ ...edge, planes: edge.planes.map(named) }));
  const things = fresh.obstructions.map((thing) => ({ ...thing, onPlane: named(thing.onPlane) }));
  const rename = <T extends { readonly id: string }>(list: readonly T[], old: readonly T[], first: readonly T[], likeness: (a: T, b: T) => number, letter: string): T[] => {
    const pairs = pairUp(list, old, likeness);
    const used = new Set([...pairs.values()].map(({ id }) => id));
    const left = pairUp(list.filter((part) => !pairs.has(part)), first.filter(({ id }) => !used.has(id)), likeness);
    for (const [part, known] of left) pairs.set(part, known);
    return inOldOrder(list.map((part) => kept({ ...part, id: pairs.get(part)?.id ?? nextId(letter) }, pairs.get(part))), old);
  };
  return {
    ...fresh,
    roofPlanes: inOldOrder(fresh.roofPlanes.map((plane) => kept(renamed(plane, named), planes.get(plane))), before.roofPlanes),
    edges: rename(edges, before.edges, surveyed?.edges ?? [], sameEdge, 'e'),
    obstructions: rename(things, before.obstructions, surveyed?.obstructions ?? [], sameThing, 'o'),
    parapets: rename(fresh.parapets, before.parapets, surveyed?.parapets ?? [], sameParapet, 'w'),
    lowPoints: rename(fresh.lowPoints, before.lowPoints, surveyed?.lowPoints ?? [], sameLowPoint, 'd'),
  };
}

/** A plane with its id, and those of the planes its evidence speaks of. */
function renamed(plane: RoofPlane, named: (id: string) => string): RoofPlane {
  const apartFrom = plane.evidence?.apartFrom;
  const evidence = apartFrom ? { evidence: { ...plane.evidence!, apartFrom: apartFrom.map((other) => ({ ...other, plane: named(other.plane) })) } } : {};
  return { ...plane, id: named(plane.id), ...evidence };
}

/** Ids of everything a building consists of. */
export const idsOf = ({ roofPlanes, edges, obstructions, parapets, lowPoints }: Building): string[] => [roofPlanes, edges, obstructions, parapets, lowPoints].flatMap((list) => list.map(({ id }) => id));

/** The part as it was, when nothing of it changed. */
const kept = <T>(part: T, before: T | undefined): T => (before !== undefined && JSON.stringify(part) === JSON.stringify(before) ? before : part);

/** `b1.p7` when `b1.p6` is the highest ever given. */
function idMaker(building: string, taken: ReadonlySet<string>): (letter: string) => string {
  const highest = new Map<string, number>();
  for (const id of taken) {
    const found = /^(.*)\.([a-z]+)(\d+)$/.exec(id);
    if (found && found[1] === building) highest.set(found[2]!, Math.max(highest.get(found[2]!) ?? 0, Number(found[3])));
  }
  return (letter) => {
    const number = (highest.get(letter) ?? 0) + 1;
    highest.set(letter, number);
    return `${building}.${letter}${number}`;
  };
}

/** Pairs of most likeness first, each part once; likeness 0 is none. */
function pairUp<T>(fresh: readonly T[], before: readonly T[], likeness: (a: T, b: T) => number): Map<T, T> {
  const found = fresh.flatMap((a) => before.flatMap((b) => {
    const like = likeness(a, b);
    return like > 0 ? [{ a, b, like }] : [];
  }));
  const pairs = new Map<T, T>();
  const used = new Set<T>();
  for (const { a, b } of found.sort((p, q) => q.like - p.like)) {
    if (pairs.has(a) || used.has(b)) continue;
    pairs.set(a, b);
    used.add(b);
  }
  return pairs;
}

/** Parts that were there keep their order, new ones follow. */
function inOldOrder<T extends { readonly id: string }>(parts: readonly T[], before: readonly { readonly id: string }[]): T[] {
  const place = new Map(before.map(({ id }, i) => [id, i]));
  return parts.toSorted((a, b) => (place.get(a.id) ?? before.length) - (place.get(b.id) ?? before.length));
}

const planRegion = (plane: RoofPlane): Region => [plane.outline, ...plane.holes].map((ring) => ring.map(([x, y]): Vector2 => [x, y]));

function samePlane(a: RoofPlane, b: RoofPlane): number {
  if (a.normal[2] < 0.02 || b.normal[2] < 0.02) return 0;
  const [first, second] = [planRegion(a), planRegion(b)];
  const shared = regionArea(intersect(first, second));
  const share = shared / Math.min(regionArea(first), regionArea(second));
  const middle = centreOf(a.outline);
  const apart = Math.abs(planeElevationAt(a, middle) - planeElevationAt(b, middle));
  // By the area shared: of two halves the larger one goes on as the plane that was split.
  return share >= SAME_SHARE && apart < ONE_LEVEL_M ? shared : 0;
}

function sameEdge(a: RoofEdge, b: RoofEdge): number {
  if (!a.planes.some((id) => b.planes.includes(id)) || a.planes.length !== b.planes.length) return 0;
  const ahead = Math.max(length(subtract(a.from, b.from)), length(subtract(a.to, b.to)));
  const back = Math.max(length(subtract(a.from, b.to)), length(subtract(a.to, b.from)));
  const apart = Math.min(ahead, back);
  return apart < SHIFTED_M ? 1 / (0.001 + apart) : 0;
}

function sameThing(a: Obstruction, b: Obstruction): number {
  const [first, second] = [[a.footprint], [b.footprint]];
  const shared = Math.abs(regionArea(intersect(first, second)));
  const together = Math.abs(signedPlanArea(a.footprint)) + Math.abs(signedPlanArea(b.footprint)) - shared;
  return together > 0 && shared / together >= SAME_SHARE ? shared / together : 0;
}

function sameParapet(a: Parapet, b: Parapet): number {
  const away = a.path.reduce((sum, at) => sum + distanceToPath(b.path, at), 0) / a.path.length;
  return away < SHIFTED_M ? 1 / (0.001 + away) : 0;
}

/** A path there and back is a ring of no area with the same distance. */
const distanceToPath = (path: readonly Vector3[], [x, y]: Vector3): number => distanceToRing([...path, ...path.slice(1, -1).toReversed()], [x, y]);

function sameLowPoint(a: LowPoint, b: LowPoint): number {
  const away = length(subtract(a.at, b.at));
  return away < SHIFTED_M ? 1 / (0.001 + away) : 0;
}

function centreOf(ring: readonly Vector3[]): Vector2 {
  return [ring.reduce((sum, [x]) => sum + x, 0) / ring.length, ring.reduce((sum, [, y]) => sum + y, 0) / ring.length];
}
