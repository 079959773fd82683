import type { DrawnLineOf } from './drawn-border.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { chiSquareOverCarried } from './carried-planes.ts';
import { elevationAt, runsInto } from './intersections.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import { moveCell } from './settle-borders.ts';

/** Share of its rim over which a bridge must run on into the two planes it lies between. */
const LEAST_RIM = 0.5;
/** Cells of rim beside a plane from which that is a neighbour. */
const FEWEST_RIM = 5;
/** Share of its cells on the smaller side of the crease: less is a part of one of the planes. */
const LEAST_SIDE = 0.1;
/** A plane carried on over more cells than this for each that it was seen in is so unsure there that it would explain anything. */
const MOST_CARRIED = 1;
/**
 * Root mean square of a face over the roof that explains it, in sigmas of the points about that roof: a wave of the noise is a
 * part of it, and no more than half its variance. Where a deck is uneven its planes are so unsure that chi-square passes all.
 */
const MOST_WAVE = Math.SQRT1_2;
/** Chi-square of three numbers that chance exceeds once in a thousand. */
const BELIEVED = 16.27;

/** A face and the two that explain it. */
interface Bridge {
  readonly own: number;
  readonly beside: readonly [number, number];
  readonly takers: Uint16Array;
  readonly chiSquare: number;
}

/**
 * Gives up faces that bridge the crease of two planes: a wave of the noise that lies along a shallow ridge or valley has a
 * plane of its own, of any size. Such a face goes where it differs from the roof of the two planes beside it, carried on to where
 * they meet, by no more than the covariance of the three fits explains and less than the points scatter; those explained best go first.
 *
 * @param doubted  Faces that may go.
 * @returns By face that went the one that took most of it; its cells have changed hands. No face both took part and went,
 *   so that a next round, with planes fitted anew, may find more.
 */
export function dissolveBridges(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], drawnLineOf: DrawnLineOf, doubted: readonly Face[] = faces): Map<number, number> {
  const cellsOf: number[][] = faces.map(() => []);
  raster.face.forEach((own, k) => own !== 0 && cellsOf[own - 1]!.push(k));
  const bridges = doubted.flatMap(({ number }) => bridgesOver(raster, number, cellsOf, fits, drawnLineOf));
  bridges.sort((a, b) => a.chiSquare - b.chiSquare || a.own - b.own || a.beside[0] - b.beside[0] || a.beside[1] - b.beside[1]);
  const touched = new Set<number>();
  const takenBy = new Map<number, number>();
  for (const { own, beside, takers } of bridges) {
    const involved = [own, ...beside];
    if (involved.some((number) => touched.has(number))) continue;
    for (const number of involved) touched.add(number);
    cellsOf[own - 1]!.forEach((k, i) => moveCell(raster, faces, k, takers[i]!));
    takenBy.set(own, 2 * countOf(takers, beside[0]) >= takers.length ? beside[0] : beside[1]);
  }
  return takenBy;
}

/** By every pair of its neighbours that explains a face. */
function bridgesOver(raster: RoofRaster, own: number, cellsOf: readonly (readonly number[])[], fits: readonly FaceFit[], drawnLineOf: DrawnLineOf): Bridge[] {
  const cells = cellsOf[own - 1]!;
  const { rim, running } = rimOf(raster, own, cells, (other, k) => !drawnLineOf(own, other) && runsInto(fits[own - 1]!, fits[other - 1]!, cellCentre(raster, k)));
  const neighbours = [...running.keys()].filter((other) => running.get(other)! >= FEWEST_RIM).sort((a, b) => a - b);
  return neighbours.flatMap((a, i) =>
    neighbours.slice(i + 1).flatMap((b): Bridge[] => {
      if (running.get(a)! + running.get(b)! < LEAST_RIM * rim || drawnLineOf(a, b)) return [];
      const takers = sidesOfCrease(raster, cells, a, b, fits);
      if (!takers || [a, b].some((other) => countOf(takers, other) > MOST_CARRIED * cellsOf[other - 1]!.length)) return [];
      if (differenceOf(raster, cells, takers, fits, own) > MOST_WAVE * Math.max(fits[a - 1]!.noise, fits[b - 1]!.noise)) return [];
      const chiSquare = chiSquareOverCarried(raster, cells, takers, fits, own);
      return chiSquare <= BELIEVED ? [{ own, beside: [a, b], takers, chiSquare }] : [];
    }),
  );
}

/** Cell sides along a face's rim: all, and by neighbour those over which the roof runs on. */
function rimOf({ face, columns }: RoofRaster, own: number, cells: readonly number[], runsOn: (other: number, cell: number) => boolean): { rim: number; running: Map<number, number> } {
  let rim = 0;
  const running = new Map<number, number>();
  for (const k of cells) {
    for (const n of [k - 1, k + 1, k - columns, k + columns]) {
      const other = face[n]!;
      if (other === own) continue;
      rim++;
      if (other !== 0 && runsOn(other, k)) running.set(other, (running.get(other) ?? 0) + 1);
    }
  }
  return { rim, running };
}

/** By cell the one of two planes the roof follows: the higher one at a valley, the lower one at a ridge. Null where they have no crease among the cells. */
function sidesOfCrease(raster: RoofRaster, cells: readonly number[], a: number, b: number, fits: readonly FaceFit[]): Uint16Array | null {
  const [first, second] = [fits[a - 1]!, fits[b - 1]!];
  const above = (at: readonly [number, number]): number => elevationAt(first, at) - elevationAt(second, at);
  const [here, there] = [above(first.centroid), above(second.centroid)];
  if (here === 0 || here > 0 === there >= 0) return null;
  const takers = Uint16Array.from(cells, (k) => (above(cellCentre(raster, k)) > 0 === here > 0 ? a : b));
  const ofFirst = countOf(takers, a);
  return Math.min(ofFirst, cells.length - ofFirst) >= LEAST_SIDE * cells.length ? takers : null;
}

/** Root mean square of a face's plane over those carried on. [m] */
function differenceOf(raster: RoofRaster, cells: readonly number[], takers: Uint16Array, fits: readonly FaceFit[], own: number): number {
  let squares = 0;
  cells.forEach((k, i) => {
    const at = cellCentre(raster, k);
    squares += (elevationAt(fits[own - 1]!, at) - elevationAt(fits[takers[i]! - 1]!, at)) ** 2;
  });
  return Math.sqrt(squares / cells.length);
}

const countOf = (takers: Uint16Array, face: number): number => takers.reduce((n, taker) => n + (taker === face ? 1 : 0), 0);
