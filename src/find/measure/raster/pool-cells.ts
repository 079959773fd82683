import { planeElevationAt } from '../../../geometry/plane.ts';
import type { PointLookup } from './point-lookup.ts';
import { cellCentre, isPure, type Face, type RoofRaster } from './roof-raster.ts';

/** Planes nearer to each other than this many sigmas of the noise share the points between them at a guess. */
const WITHIN_SIGMAS = 4;
/** Planes that part by more than this share of the noise from one cell to the next are told apart by their points. */
const PARTING_SHARE = 0.7;

/** Planes whose heights at a cell differ by more than this share of the noise end there with a step. */
const STEP_SHARE = 1;

/** Whether the roof runs on from one face to another at a cell: nothing but the planes' own difference tells their points apart. */
export type RunOn = (face: number, other: number, cell: number) => boolean;
export const NONE_RUN_ON: RunOn = () => false;

/**
 * Counts cells of planes that are nearly one whole. A point within the noise of two planes has the label of the nearer one,
 * so a face's own label keeps the half of the noise that leans its way: over the metre and a half beside a valley between
 * falls of two per cent that lifted either plane by millimetres, and moved the valley by decimetres. Here all points of
 * such a cell count for the face the cell lies in.
 *
 * @param noise  One sigma of points about their plane. [m]
 * @returns Where the roof runs on over a border.
 */
export function poolCells(raster: RoofRaster, faces: readonly Face[], points: PointLookup, noise: number): RunOn {
  const { face, filled, label, count, secondLabel, secondCount, sum, squares } = raster;
  const likeOf = faces.map((own) => new Set(faces.filter((other) => partsSlowly(own, other, noise / raster.step)).map((other) => other.label)));
  const planeOf = new Map(faces.map((one) => [one.label, one.plane]));
  const within = WITHIN_SIGMAS * noise;
  for (let k = 0; k < face.length; k++) {
    if (face[k] === 0 || count[k] === 0 || (isPure(raster, k) && !filled[k])) continue;
    const own = faces[face[k]! - 1]!;
    const like = likeOf[own.number - 1]!;
    if (like.size < 2) continue;
    const at = cellCentre(raster, k);
    const height = planeElevationAt(own.plane, at);
    const isNear = (other: number): boolean => like.has(other) && Math.abs(planeElevationAt(planeOf.get(other)!, at) - height) <= within;
    if (!isNear(label[k]!) || (secondCount[k]! > 0 && !isNear(secondLabel[k]!))) continue;
    const { normal: [a, b, c], offset } = own.plane;
    let [n, above, square] = [0, 0, 0];
    points.each(k, (x, y, z, of) => {
      if (!like.has(of)) return;
      const away = a * x + b * y + c * z + offset;
      n++;
      above += away;
      square += away * away;
    });
    label[k] = own.label;
    count[k] = n;
    secondLabel[k] = secondCount[k] = filled[k] = 0;
    sum[k] = above;
    squares[k] = square;
  }
  return (own, other, cell) => {
    const [a, b] = [faces[own - 1]!, faces[other - 1]!];
    if (!likeOf[own - 1]!.has(b.label)) return false;
    const at = cellCentre(raster, cell);
    return Math.abs(planeElevationAt(a.plane, at) - planeElevationAt(b.plane, at)) <= STEP_SHARE * noise;
  };
}

/** @param limit  Noise over a cell's side. [-] */
function partsSlowly(own: Face, other: Face, limit: number): boolean {
  const [[a, b, c], [p, q, r]] = [own.plane.normal, other.plane.normal];
  return Math.hypot(a / c - p / r, b / c - q / r) < PARTING_SHARE * limit;
}
