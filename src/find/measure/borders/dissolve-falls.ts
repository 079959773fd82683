import { chiSquareOverCarried } from './carried-planes.ts';
import type { DrawnLineOf } from './drawn-border.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { runsInto } from './intersections.ts';
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
    if (chiSquareOverCarried(raster, cells, takers, fits, own) > BELIEVED) continue;
    cells.forEach((k, i) => {
      moveCell(raster, faces, k, takers[i]!);
      cellsOf[takers[i]! - 1]!.push(k);
      sizes[takers[i]! - 1]!++;
    });
    sizes[own - 1] = 0;
    takenBy.set(own, mostFrequent(takers));
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
