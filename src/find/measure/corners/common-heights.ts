import type { Vector2 } from '../../../geometry/vector.ts';
import { heightVariance } from '../../../reading/plane-uncertainty.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { RoofMap } from '../borders/split-arcs.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import type { SolvedCorners } from './solve-corners.ts';

/** Heights at a shared line closer than this are one line, at a shared corner one corner. [m] */
const SAME_HEIGHT = 0.08;
/** A line may also part by this many sigmas of the points; a corner may not, or outlines would leave their planes by decimetres. */
const SAME_SIGMAS = 4;

/** How far two planes may lie apart in height where they meet and still have a line in common there. [m] */
export const sameHeight = (a: FaceFit, b: FaceFit): number => Math.max(SAME_HEIGHT, SAME_SIGMAS * Math.max(a.noise, b.noise));

/** No height is taken to be surer than a tenth of a millimetre. [m²] */
const LEAST_VARIANCE = 1e-8;

/** Height of a face's corner. Local frame. [m] */
export type HeightOf = (face: number, corner: Vector2) => number;

/**
 * Height of every corner, one for all faces that meet there. Three planes fitted to their points meet in no one point: their
 * heights over a common corner differ by what the fits err, millimetres as a rule. Faces that lie within 8 cm get the mean of their heights, each weighing as it is known there, so that neighbouring
 * outlines share corners to the last digit; a face that ends above or below the others keeps its own.
 */
export function commonHeights({ pieces, rings }: Pick<RoofMap, 'pieces' | 'rings'>, { positions, standsFor, vanished }: Pick<SolvedCorners, 'positions' | 'standsFor' | 'vanished'>, fits: readonly FaceFit[]): HeightOf {
  const facesAt = new Map<string, Set<number>>();
  for (const ring of rings) {
    if (ring.face === 0) continue;
    for (const { piece, forward } of ring.pieces) {
      if (vanished[piece]) continue;
      const { from, to } = pieces[piece]!;
      const key = keyOf(positions[standsFor[forward ? from : to]!]!);
      const faces = facesAt.get(key);
      if (faces) faces.add(ring.face);
      else facesAt.set(key, new Set([ring.face]));
    }
  }
  const found = new Map<string, Map<number, number>>();
  return (face, corner) => {
    const key = keyOf(corner);
    let heights = found.get(key);
    if (!heights) found.set(key, (heights = heightsAt(corner, [...(facesAt.get(key) ?? [])], fits)));
    return heights.get(face) ?? elevationAt(fits[face - 1]!, corner);
  };
}

const keyOf = ([x, y]: Vector2): string => `${x} ${y}`;

function heightsAt(corner: Vector2, faces: readonly number[], fits: readonly FaceFit[]): Map<number, number> {
  const own = faces.map((face) => ({ face, fit: fits[face - 1]!, height: elevationAt(fits[face - 1]!, corner) })).sort((a, b) => a.height - b.height || a.face - b.face);
  const heights = new Map<number, number>();
  for (let first = 0; first < own.length; ) {
    let end = first + 1;
    while (end < own.length && own[end]!.height - own[first]!.height < SAME_HEIGHT) end++;
    const group = own.slice(first, end);
    const weights = group.map(({ fit }) => 1 / Math.max(LEAST_VARIANCE, heightVariance(fit, corner)));
    const mean = group.reduce((sum, { height }, i) => sum + weights[i]! * height, 0) / weights.reduce((sum, weight) => sum + weight, 0);
    for (const { face } of group) heights.set(face, mean);
    first = end;
  }
  return heights;
}
