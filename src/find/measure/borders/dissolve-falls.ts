import { addAt, factorOf, solveDecomposed, wholeRows } from '../../../geometry/solve-symmetric.ts';
import type { DrawnLineOf } from './drawn-border.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt, runsInto } from './intersections.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import { moveCell } from './settle-borders.ts';

/** Only a face this much smaller than what is around it is doubted: two bays with equal falls are two. */
const MOST_SHARE = 0.3;
/** Share of its rim over which the roof must run on into its neighbours. */
const LEAST_RIM = 0.25;
/**
 * Chi-square of three numbers from which a fall is believed. Chance alone exceeds 31 once in a million, but falls are looked for
 * at many places and the longest waves of the noise hide in them; true falls of 1.5 % over 10 m² have some hundreds.
 */
const BELIEVED = 50;

/**
 * Gives small falls that the noise explains to the planes around them: the face's own plane against those planes carried on
 * under it, each with the covariance of its fit.
 *
 * @param doubted  Faces that may be dissolved. Default: all.
 * @returns By face that was dissolved the one that took most of it; its cells have changed hands.
 */
export function dissolveFalls(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], drawnLineOf: DrawnLineOf, doubted: readonly Face[] = faces): Map<number, number> {
  const cellsOf: number[][] = faces.map(() => []);
  raster.face.forEach((own, k) => own !== 0 && cellsOf[own - 1]!.push(k));
  const sizes = cellsOf.map(({ length }) => length);
  const order = doubted.map(({ number }) => number).filter((own) => sizes[own - 1]! > 0).sort((a, b) => sizes[a - 1]! - sizes[b - 1]! || a - b);
  const takenBy = new Map<number, number>();
  for (const own of order) {
    const cells = cellsOf[own - 1]!;
    const takers = takersOf(raster, own, cells, sizes, (other, k) => !drawnLineOf(own, other) && runsInto(fits[own - 1]!, fits[other - 1]!, cellCentre(raster, k)));
    if (!takers) continue;
    const most = mostFrequent(takers);
    if (chiSquare(raster, cells, takers, fits, own, most) > BELIEVED) continue;
    cells.forEach((k, i) => {
      moveCell(raster, faces, k, takers[i]!);
      cellsOf[takers[i]! - 1]!.push(k);
      sizes[takers[i]! - 1]!++;
    });
    sizes[own - 1] = 0;
    takenBy.set(own, most);
  }
  return takenBy;
}

/** Neighbour nearest to each of a face's cells among those the roof runs on into; null where that is too little of its rim, or none is much larger. */
function takersOf({ face, columns }: RoofRaster, own: number, cells: readonly number[], sizes: readonly number[], runsInto: (other: number, cell: number) => boolean): Uint16Array | null {
  let [rim, running] = [0, 0];
  const taker = new Map<number, number>();
  let queue: number[] = [];
  for (const k of cells) {
    for (const n of [k - 1, k + 1, k - columns, k + columns]) {
      const other = face[n]!;
      if (other === own) continue;
      rim++;
      if (other === 0 || cells.length > MOST_SHARE * sizes[other - 1]! || !runsInto(other, k)) continue;
      running++;
      if (!taker.has(k)) {
        taker.set(k, other);
        queue.push(k);
      }
    }
  }
  if (running === 0 || running < LEAST_RIM * rim) return null;
  while (queue.length > 0) {
    const next: number[] = [];
    for (const k of queue) {
      for (const n of [k - 1, k + 1, k - columns, k + columns]) {
        if (face[n] !== own || taker.has(n)) continue;
        taker.set(n, taker.get(k)!);
        next.push(n);
      }
    }
    queue = next;
  }
  // What cannot be reached stands apart.
  return taker.size === cells.length ? Uint16Array.from(cells, (k) => taker.get(k)!) : null;
}

function mostFrequent(takers: Uint16Array): number {
  const counts = new Map<number, number>();
  for (const face of takers) counts.set(face, (counts.get(face) ?? 0) + 1);
  return [...counts].reduce((a, b) => (b[1] > a[1] || (b[1] === a[1] && b[0] < a[0]) ? b : a))[0];
}

/** Of the plane's height and slopes over the planes around it, carried on; the scatter of theirs is that of the one that takes most. */
function chiSquare(raster: RoofRaster, cells: readonly number[], takers: Uint16Array, fits: readonly FaceFit[], own: number, most: number): number {
  const fit = fits[own - 1]!;
  const [x0, y0] = fit.centroid;
  const normal = wholeRows(3);
  const right = new Float64Array(3);
  cells.forEach((k, i) => {
    const at = cellCentre(raster, k);
    const place = [1, at[0] - x0, at[1] - y0];
    const above = elevationAt(fit, at) - elevationAt(fits[takers[i]! - 1]!, at);
    for (let a = 0; a < 3; a++) {
      right[a]! += place[a]! * above;
      for (let b = 0; b <= a; b++) addAt(normal, a, b, place[a]! * place[b]!);
    }
  });
  const root = factorOf(normal);
  if (!root) return Infinity;
  const difference = solveDecomposed(root, right);
  const scatter = wholeRows(3);
  const theirs = carriedTo(fits[most - 1]!, fit.centroid);
  for (let a = 0; a < 3; a++) for (let b = 0; b <= a; b++) addAt(scatter, a, b, fit.covariance[3 * a + b]! + theirs[3 * a + b]!);
  const scatterRoot = factorOf(scatter);
  return scatterRoot ? solveDecomposed(scatterRoot, difference).reduce((sum, value, a) => sum + value * difference[a]!, 0) : Infinity;
}

/** Covariance of a plane's height elsewhere and of its slopes. */
function carriedTo({ centroid, covariance: c }: FaceFit, [x, y]: readonly [number, number]): number[] {
  const [dx, dy] = [x - centroid[0], y - centroid[1]];
  const [withX, withY] = [c[1]! + dx * c[4]! + dy * c[7]!, c[2]! + dx * c[5]! + dy * c[8]!];
  const height = c[0]! + 2 * dx * c[1]! + 2 * dy * c[2]! + dx * dx * c[4]! + 2 * dx * dy * c[5]! + dy * dy * c[8]!;
  return [height, withX, withY, withX, c[4]!, c[5]!, withY, c[7]!, c[8]!];
}
