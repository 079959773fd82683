import { signedPlanArea } from '../../../geometry/polygon.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { RoofMap } from '../borders/split-arcs.ts';

export interface FaceRings {
  readonly face: number;
  /** Counter-clockwise. */
  readonly outline: readonly Vector2[];
  /** Clockwise. */
  readonly holes: readonly (readonly Vector2[])[];
  /** Pieces of all rings, each once. */
  readonly pieces: readonly number[];
}

/** Plan area within the outline, holes left out. [m²] */
export const ringsPlanArea = ({ outline, holes }: FaceRings): number => signedPlanArea(outline) + holes.reduce((sum, hole) => sum + signedPlanArea(hole), 0);

/** Rings of every face from the solved corners; a face whose rim has shrunk to nothing is left out. */
export function faceRings(map: RoofMap, solved: SolvedCorners): FaceRings[] {
  const found = new Map<number, { outline: readonly Vector2[] | null; area: number; holes: (readonly Vector2[])[]; pieces: number[] }>();
  for (const ring of map.rings) {
    if (ring.face === 0) continue;
    const corners: Vector2[] = [];
    const pieces: number[] = [];
    let before = -1;
    for (const { piece, forward } of ring.pieces) {
      if (solved.vanished[piece]) continue;
      const { from, to } = map.pieces[piece]!;
      const start = solved.standsFor[forward ? from : to]!;
      pieces.push(piece);
      if (start === before) continue;
      corners.push(solved.positions[start]!);
      before = start;
    }
    let entry = found.get(ring.face);
    if (!entry) found.set(ring.face, (entry = { outline: null, area: 0, holes: [], pieces: [] }));
    entry.pieces.push(...pieces);
    for (const loop of simpleLoops(withoutRepeats(corners))) {
      const area = signedPlanArea(loop);
      if (area > entry.area) {
        entry.outline = loop;
        entry.area = area;
      } else if (area < -LEAST_HOLE) entry.holes.push(loop);
    }
  }
  return [...found.keys()]
    .sort((a, b) => a - b)
    .flatMap((face) => {
      const { outline, holes, pieces } = found.get(face)!;
      return outline ? [{ face, outline, holes, pieces: [...new Set(pieces)] }] : [];
    });
}

/** Smaller holes are rounding. [m²] */
const LEAST_HOLE = 1e-9;

/**
 * A ring that comes back to a corner, as loops that do not: what lies between was squeezed to a line (and encloses nothing)
 * or to a hole that touches the rim. Two parts of one face that touch in a corner only stay one ring.
 */
function simpleLoops(ring: readonly Vector2[]): (readonly Vector2[])[] {
  const loops: Vector2[][] = [[]];
  const rest = loops[0]!;
  for (const corner of ring) {
    const before = rest.findIndex(([x, y]) => x === corner[0] && y === corner[1]);
    if (before >= 0) loops.push(rest.splice(before));
    rest.push(corner);
  }
  const areas = loops.map((loop) => (loop.length < 3 ? 0 : signedPlanArea(loop)));
  return areas.filter((area) => area > LEAST_HOLE).length > 1 ? [ring] : loops.filter((_, i) => Math.abs(areas[i]!) > LEAST_HOLE);
}

/** Drops corners that stand where the one before stands. Corners in line stay: a neighbour's corner may be there. */
function withoutRepeats(corners: readonly Vector2[]): Vector2[] {
  return corners.filter((p, i) => {
    const q = corners[(i + corners.length - 1) % corners.length]!;
    return Math.hypot(p[0] - q[0], p[1] - q[1]) > 1e-9;
  });
}
