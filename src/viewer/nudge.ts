import { add, scale, type Vector3 } from '../geometry/vector.ts';
import { meetPlane } from '../survey/measure/pick-ray.ts';
import type { Snap } from '../survey/measure/snap.ts';
import type { SnapTargets } from '../survey/measure/snap-targets.ts';
import { project, rayAt, type Projection } from './projection.ts';

/** Tools whose places may stand anywhere in plan. */
export const needsNoHeight = (tool: string | undefined): boolean => tool === 'lasso' || tool === 'split';

/** Rightwards and upwards in the picture. [m] */
export type Offset = readonly [number, number];

/**
 * What would be taken, moved by keys across the picture. A place on a plane stays on it; a corner, an edge or a bare
 * point becomes a place of its own, as sure as what it was moved from.
 */
export function nudged(snap: Snap, view: Projection, [right, up]: Offset, targets: SnapTargets | null): Snap {
  if (right === 0 && up === 0) return snap;
  const { pick } = snap;
  const at = add(add(pick.at, scale(view.right, right)), scale(view.up, up));
  const name = `${snap.name}, moved ${words(right, 'right', 'left')}${right !== 0 && up !== 0 ? ' and ' : ''}${words(up, 'up', 'down')}`;
  const plane = pick.landedOn === 'plane' ? targets?.planes.find(({ id }) => id === pick.of) : undefined;
  if (plane) return { ...snap, name, pick: { ...pick, at: onPlane(view, at, plane) } };
  return { ...snap, name, pick: { ...pick, at, landedOn: 'typed', of: null } };
}

function onPlane(view: Projection, at: Vector3, { normal, offset }: { readonly normal: Vector3; readonly offset: number }): Vector3 {
  const [x, y] = project(view, at);
  return meetPlane(rayAt(view, x, y), normal, offset) ?? at;
}

const words = (metres: number, ahead: string, back: string): string => (metres === 0 ? '' : `${Math.round(Math.abs(metres) * 1000)} mm ${metres > 0 ? ahead : back}`);

/** The place after (or before) the one at a pixel, in reading order over the picture; null when none is in sight. */
export function placeInSight(places: readonly Vector3[], view: Projection, from: { readonly x: number; readonly y: number } | null, by: 1 | -1): { x: number; y: number } | null {
  const seen = places
    .map((at) => project(view, at))
    .filter(([x, y]) => x >= 0 && y >= 0 && x <= view.width && y <= view.height)
    .map(([x, y]) => ({ x, y }))
    .sort((a, b) => a.y - b.y || a.x - b.x);
  if (seen.length === 0) return null;
  const near = from ? seen.findIndex(({ x, y }) => Math.hypot(x - from.x, y - from.y) < 1) : -1;
  if (near >= 0) return seen[(near + by + seen.length) % seen.length]!;
  const after = from ? seen.findIndex(({ x, y }) => y > from.y || (y === from.y && x > from.x)) : 0;
  const next = after < 0 ? 0 : after;
  return by > 0 ? seen[next]! : seen[(next - 1 + seen.length) % seen.length]!;
}
