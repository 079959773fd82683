import { planeElevationAt } from '../geometry/plane.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { RoofScene } from './scene.ts';

/** A line drawn in plan, from left to right of the section. */
export interface SectionLine {
  readonly from: Vector2;
  readonly to: Vector2;
  /** Width of the strip of points shown, half to either side. [m] */
  readonly thicknessM: number;
}

/** Where the section cuts a roof plane, or a thing on it. */
export interface CutPiece {
  readonly kind: 'plane' | 'thing' | 'ground';
  readonly id: string;
  readonly name: string;
  /** Polyline in the local frame. */
  readonly path: readonly Vector3[];
}

/** Cuts everything along a line; pieces run from left to right. */
export function cutScene(scene: RoofScene, line: SectionLine): CutPiece[] {
  const pieces: CutPiece[] = [];
  const at = (share: number): Vector2 => [line.from[0] + (line.to[0] - line.from[0]) * share, line.from[1] + (line.to[1] - line.from[1]) * share];
  for (const { id, name, plane } of scene.planes) {
    if (plane.normal[2] < 0.05) continue;
    for (const [start, end] of insideShares(line, [plane.outline, ...plane.holes])) {
      const path = [at(start), at(end)].map((place): Vector3 => [place[0], place[1], planeElevationAt(plane, place)]);
      pieces.push({ kind: 'plane', id, name, path });
    }
  }
  for (const thing of scene.things) {
    for (const [start, end] of insideShares(line, [thing.base])) {
      const [a, b] = [at(start), at(end)];
      const roof = scene.planes.find(({ id }) => id === thing.obstruction.onPlane);
      const top = thing.centre[2];
      const foot = (place: Vector2): number => (roof ? planeElevationAt(roof.plane, place) : top);
      pieces.push({ kind: 'thing', id: thing.id, name: thing.name, path: [[...a, foot(a)], [...a, Math.max(top, foot(a))], [...b, Math.max(top, foot(b))], [...b, foot(b)]] });
    }
  }
  for (const building of scene.buildings) {
    const inside = insideShares(line, [building.outline]);
    if (inside.length === 0) continue;
    const [start, end] = [at(inside[0]![0]), at(inside.at(-1)![1])];
    pieces.push({ kind: 'ground', id: building.id, name: building.id, path: [[...start, building.groundM], [...end, building.groundM]] });
  }
  return pieces;
}

/** Shares of the line that lie inside rings (even-odd), in order. */
export function insideShares(line: SectionLine, rings: readonly (readonly (Vector2 | Vector3)[])[]): [number, number][] {
  const [dx, dy] = [line.to[0] - line.from[0], line.to[1] - line.from[1]];
  const crossings: number[] = [];
  for (const ring of rings) {
    ring.forEach((corner, i) => {
      const next = ring[(i + 1) % ring.length]!;
      // Side of the line each end stands on; an end exactly on it counts as right, so that a corner is met once.
      const sideA = (corner[0] - line.from[0]) * dy - (corner[1] - line.from[1]) * dx;
      const sideB = (next[0] - line.from[0]) * dy - (next[1] - line.from[1]) * dx;
      if (sideA >= 0 === sideB >= 0) return;
      const share = sideA / (sideA - sideB);
      const [x, y] = [corner[0] + (next[0] - corner[0]) * share, corner[1] + (next[1] - corner[1]) * share];
      crossings.push(((x - line.from[0]) * dx + (y - line.from[1]) * dy) / (dx * dx + dy * dy));
    });
  }
  crossings.sort((a, b) => a - b);
  const inside: [number, number][] = [];
  for (let i = 0; i + 1 < crossings.length; i += 2) {
    const [start, end] = [Math.max(0, crossings[i]!), Math.min(1, crossings[i + 1]!)];
    if (end - start > 1e-9) inside.push([start, end]);
  }
  return inside;
}
