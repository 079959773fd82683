import { dot, length, scale, subtract, add, type Vector3 } from '../../geometry/vector.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { planeElevationAt } from '../../geometry/plane.ts';
import type { RecordPick, Sampling } from '../../roof/record.ts';
import { cornerSigma, planeHeightSigma, pointSigma } from '../measure/pick-sigma.ts';
import type { SnapTargets } from '../measure/snap-targets.ts';

/** Ends in a list are approximate: what was found within this distance is meant. [m] */
export const PLACING_DISTANCE = 0.3;

export interface PlacedEnd {
  readonly pick: RecordPick;
  /** "corner of p1, p2", "edge E3", "plane p1". */
  readonly name: string;
}

/**
 * What a stated end lies on: the nearest corner within 0.3 m, else the nearest edge, else the plane above or below it.
 *
 * @param end  Local frame. [m]
 * @returns null when nothing was found there.
 */
export function placeEnd(end: Vector3, targets: SnapTargets, sampling: Sampling): PlacedEnd | null {
  const quality = { spacingM: sampling.pointSpacingM, noiseM: sampling.noiseM };
  return cornerAt(end, targets, quality) ?? edgeAt(end, targets, quality) ?? planeAt(end, targets, quality);
}

interface Quality {
  readonly spacingM: number;
  readonly noiseM: number;
}

function nearest<Target>(all: readonly Target[], distanceOf: (target: Target) => number): Target | null {
  let best: Target | null = null;
  let least = PLACING_DISTANCE;
  for (const target of all) {
    const distance = distanceOf(target);
    if (distance > least) continue;
    least = distance;
    best = target;
  }
  return best;
}

function cornerAt(end: Vector3, { corners }: SnapTargets, quality: Quality): PlacedEnd | null {
  const corner = nearest(corners, (each) => length(subtract(each.at, end)));
  return corner && { pick: { at: corner.at, landedOn: 'corner', of: corner.of, sigmaM: cornerSigma(corner, quality) }, name: corner.name };
}

function onSegment(end: Vector3, from: Vector3, to: Vector3): Vector3 {
  const along = subtract(to, from);
  const share = dot(subtract(end, from), along) / Math.max(dot(along, along), 1e-12);
  return add(from, scale(along, Math.min(1, Math.max(0, share))));
}

function edgeAt(end: Vector3, { edges }: SnapTargets, quality: Quality): PlacedEnd | null {
  const edge = nearest(edges, (each) => length(subtract(onSegment(end, each.from, each.to), end)));
  if (!edge) return null;
  const sideways = edge.sidewaysSigmaM ?? pointSigma(quality)[0];
  return {
    pick: { at: onSegment(end, edge.from, edge.to), landedOn: 'edge', of: edge.id, sigmaM: [sideways, sideways, sideways / 2] },
    name: `edge ${edge.name}`,
  };
}

function planeAt(end: Vector3, { planes }: SnapTargets, quality: Quality): PlacedEnd | null {
  const at: [number, number] = [end[0], end[1]];
  const plane = nearest(planes, (each) => (ringContains(each.outline, at) ? Math.abs(planeElevationAt(each, at) - end[2]) : Infinity));
  if (!plane) return null;
  const onPlane: Vector3 = [end[0], end[1], planeElevationAt(plane, at)];
  const sideways = pointSigma(quality)[0];
  return {
    pick: { at: onPlane, landedOn: 'plane', of: plane.id, sigmaM: [sideways, sideways, planeHeightSigma(plane, onPlane, quality)] },
    name: `plane ${plane.name}`,
  };
}
