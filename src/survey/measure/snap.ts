import type { Vector3 } from '../../geometry/vector.ts';
import type { RecordPick } from '../../roof/record.ts';
import { meetPlane, nearestOnSegment, offsetFromRay, type PickRay } from './pick-ray.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { cornerSigma, edgeSigma, planeSigma, pointSigma } from './pick-sigma.ts';
import type { SnapTargets } from './snap-targets.ts';

/** What a click would take: a place with its uncertainty, and what it lies on. */
export interface Snap {
  readonly pick: RecordPick;
  /** For the spoken line: "corner of p1, p2", "edge E3", "plane p1", "a bare point". */
  readonly name: string;
  /** Tells one target from the next, for hysteresis. */
  readonly key: string;
  /** Distance from the pointer. [px] */
  readonly pixels: number;
}

export interface SnapOptions {
  /** False while a person holds the key that frees the pointer: only bare points are taken. */
  readonly snapping: boolean;
  /** What was taken a moment ago; it is let go a little later than it is caught, so that the mark does not flicker. */
  readonly previous: Snap | null;
  /** The measured point under the pointer, when the cloud has one there. */
  readonly point: Vector3 | null;
  readonly spacingM: number;
  readonly noiseM: number;
}

/** Catching distances. A corner is a smaller mark than an edge, and so needs the larger reach. [px] */
const CORNER_REACH = 12;
const EDGE_REACH = 8;
/** How much farther a target holds on than it catches. */
const HOLD = 1.5;

/**
 * Chooses what the pointer takes: corner before edge before plane before bare point. Of several the nearest in the
 * picture is taken, and of those at the same place the one nearest to the eye. What lies behind a roof plane is hidden.
 */
export function snapAt(ray: PickRay, targets: SnapTargets, options: SnapOptions): Snap | null {
  const bare = options.point ? barePoint(ray, options.point, options) : null;
  if (!options.snapping) return bare;
  const plane = planeUnder(ray, targets, options);
  const hiddenBeyondM = plane ? offsetFromRay(ray, plane.pick.at).depthM + 0.5 : Infinity;
  return nearestCorner(ray, targets, options, hiddenBeyondM) ?? nearestEdge(ray, targets, options, hiddenBeyondM) ?? overPlane(ray, plane, bare, options);
}

/** A thing standing on the plane, or lying over it, is what the pointer sees: its points win over the plane below. */
function overPlane(ray: PickRay, plane: Snap | null, bare: Snap | null, options: SnapOptions): Snap | null {
  if (!plane || !bare) return plane ?? bare;
  const above = offsetFromRay(ray, plane.pick.at).depthM - offsetFromRay(ray, bare.pick.at).depthM;
  return above > Math.max(3 * options.noiseM, 2 * options.spacingM) ? bare : plane;
}

const reach = (base: number, key: string, options: SnapOptions): number => (options.previous?.key === key ? base * HOLD : base);

function nearestCorner(ray: PickRay, targets: SnapTargets, options: SnapOptions, hiddenBeyondM: number): Snap | null {
  let best: Snap | null = null;
  let bestScore = Infinity;
  for (const corner of targets.corners) {
    const { pixels, depthM } = offsetFromRay(ray, corner.at);
    if (pixels > reach(CORNER_REACH, corner.key, options) || depthM > hiddenBeyondM) continue;
    const score = options.previous?.key === corner.key ? pixels / HOLD : pixels;
    if (score >= bestScore) continue;
    bestScore = score;
    const pick: RecordPick = { at: corner.at, landedOn: 'corner', of: corner.of, sigmaM: cornerSigma(corner, options) };
    best = { pick, name: corner.name, key: corner.key, pixels };
  }
  return best;
}

function nearestEdge(ray: PickRay, targets: SnapTargets, options: SnapOptions, hiddenBeyondM: number): Snap | null {
  let best: Snap | null = null;
  let bestScore = Infinity;
  for (const edge of targets.edges) {
    const at = nearestOnSegment(ray, edge.from, edge.to);
    const { pixels, depthM } = offsetFromRay(ray, at);
    if (pixels > reach(EDGE_REACH, edge.key, options) || depthM > hiddenBeyondM) continue;
    const score = options.previous?.key === edge.key ? pixels / HOLD : pixels;
    if (score >= bestScore) continue;
    bestScore = score;
    const pick: RecordPick = { at, landedOn: 'edge', of: edge.id, sigmaM: edgeSigma(edge, at, ray, options) };
    best = { pick, name: `edge ${edge.name}`, key: edge.key, pixels };
  }
  return best;
}

function planeUnder(ray: PickRay, targets: SnapTargets, options: SnapOptions): Snap | null {
  let best: Snap | null = null;
  let bestDepth = Infinity;
  for (const plane of targets.planes) {
    const at = meetPlane(ray, plane.normal, plane.offset);
    if (!at || !ringContains(plane.outline, [at[0], at[1]])) continue;
    if (plane.holes.some((hole) => ringContains(hole, [at[0], at[1]]))) continue;
    const { depthM } = offsetFromRay(ray, at);
    if (depthM >= bestDepth) continue;
    bestDepth = depthM;
    const pick: RecordPick = { at, landedOn: 'plane', of: plane.id, sigmaM: planeSigma(plane, at, ray, options) };
    best = { pick, name: `plane ${plane.name}`, key: plane.id, pixels: 0 };
  }
  return best;
}

function barePoint(ray: PickRay, at: Vector3, options: SnapOptions): Snap {
  const pick: RecordPick = { at, landedOn: 'point', of: null, sigmaM: pointSigma(options) };
  return { pick, name: 'a bare point', key: 'point', pixels: offsetFromRay(ray, at).pixels };
}
