import { ringContains } from '../geometry/polygon.ts';
import type { Vector2 } from '../geometry/vector.ts';
import { meetPlane, nearestOnSegment, offsetFromRay, type PickRay } from '../survey/measure/pick-ray.ts';
import { rayPixel } from './ray-pixel.ts';
import type { PartRef, RoofScene } from './scene.ts';

/** An edge is pointed at from this near. [px] */
const EDGE_REACH = 7;
const PIN_REACH = 10;

export interface PointedPart extends PartRef {
  readonly name: string;
  readonly building: string | null;
}

/** What stands under the pointer: a pin, a thing, an edge, a parapet, and last a plane; of several planes the nearest to the eye. */
export function partAt(scene: RoofScene, ray: PickRay): PointedPart | null {
  return pinAt(scene, ray) ?? thingAt(scene, ray) ?? edgeAt(scene, ray) ?? parapetAt(scene, ray) ?? planeAt(scene, ray);
}

function pinAt(scene: RoofScene, ray: PickRay): PointedPart | null {
  for (const { id, name, low, building } of scene.lowPoints) {
    if (offsetFromRay(ray, low.at).pixels < PIN_REACH) return { kind: 'low-point', id, name, building };
  }
  for (const { id, name, feature } of scene.features) {
    if (offsetFromRay(ray, feature.at[0]!).pixels < PIN_REACH) return { kind: 'feature', id, name, building: null };
  }
  return null;
}

function thingAt(scene: RoofScene, ray: PickRay): PointedPart | null {
  let best: PointedPart | null = null;
  let bestDepth = Infinity;
  for (const thing of scene.things) {
    const faces = [thing.top, ...thing.top.map((corner, i) => {
      const j = (i + 1) % thing.top.length;
      return [corner, thing.top[j]!, thing.base[j]!, thing.base[i]!];
    })];
    const hit = faces.some((face) => ringContains(face.map((corner) => rayPixel(ray, corner)), [0, 0]));
    const { depthM } = offsetFromRay(ray, thing.centre);
    if (!hit || depthM >= bestDepth) continue;
    bestDepth = depthM;
    best = { kind: 'obstruction', id: thing.id, name: thing.name, building: thing.building };
  }
  return best;
}

function edgeAt(scene: RoofScene, ray: PickRay): PointedPart | null {
  const plane = frontPlane(scene, ray);
  let best: PointedPart | null = null;
  let bestPixels = EDGE_REACH;
  for (const edge of scene.edges) {
    const { pixels, depthM } = offsetFromRay(ray, nearestOnSegment(ray, edge.from, edge.to));
    if (pixels >= bestPixels || (plane && depthM > plane.depthM + 0.5)) continue;
    bestPixels = pixels;
    best = { kind: 'edge', id: edge.id, name: edge.name, building: edge.building };
  }
  return best;
}

function parapetAt(scene: RoofScene, ray: PickRay): PointedPart | null {
  for (const { id, name, building, parapet } of scene.parapets) {
    for (let i = 0; i + 1 < parapet.path.length; i++) {
      const near = nearestOnSegment(ray, parapet.path[i]!, parapet.path[i + 1]!);
      if (offsetFromRay(ray, near).pixels < EDGE_REACH) return { kind: 'parapet', id, name, building };
    }
  }
  return null;
}

function planeAt(scene: RoofScene, ray: PickRay): PointedPart | null {
  const front = frontPlane(scene, ray);
  return front ? { kind: 'plane', id: front.id, name: front.name, building: front.building } : null;
}

function frontPlane(scene: RoofScene, ray: PickRay): { id: string; name: string; building: string; depthM: number } | null {
  let best: { id: string; name: string; building: string; depthM: number } | null = null;
  for (const { id, name, building, plane } of scene.planes) {
    const at = meetPlane(ray, plane.normal, plane.offset);
    if (!at) continue;
    const place: Vector2 = [at[0], at[1]];
    if (!ringContains(plane.outline, place) || plane.holes.some((hole) => ringContains(hole, place))) continue;
    const { depthM } = offsetFromRay(ray, at);
    if (!best || depthM < best.depthM) best = { id, name, building, depthM };
  }
  return best;
}
