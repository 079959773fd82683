import { heightVariance } from '../../../reading/plane-uncertainty.ts';
import { upperMedian } from '../../../geometry/order-statistic.ts';
import type { RoofMap } from '../borders/split-arcs.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { PointGatherer } from '../raster/point-lookup.ts';
import type { RunOn } from '../raster/pool-cells.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import { fitCells, type CellFit, type FitSums } from './fit-cells.ts';
import { correctionAt, finishFits, fitInside, inOrder, noiseOf, ROUNDED_SHARE, type FaceFit, type InsideFit } from './fit-faces.ts';
import { rimStretches, type RimStretch } from './rim-cells.ts';
import { rimSides } from './rim-sides.ts';

/** Farther off in the mean than this many sigmas of it and of the plane is no chance. */
const CHANCE_SIGMAS = 2.5;

/** What faces end with. */
export interface SettledRoof {
  readonly map: RoofMap;
  readonly solved: SolvedCorners;
}

/**
 * Fits faces once more, now up to their sides. The outermost points weigh most in a slope: leaving out 10 to 20 cm all round
 * costs planes of 10 to 30 m² 8 to 20 % of its scatter. Cells at a rim also hold points of what lies beyond, so here points
 * count by their own place, up to the line in which planes meet or to within half a spacing of a counted edge, and stand for
 * where they lie in the mean instead of the middle of their cell. A stretch of rim joins only where it keeps to the plane
 * fitted inside: rounded ridges, gutters, flashings and walls do not pull at it. So do cells over walls: where a wall reaches
 * the roof from below, its topmost points lie within the noise of the plane, three millimetres in the mean of those cells at
 * 2 cm of noise; white noise shows that, and a pitch of 63° came out 0.04° too steep.
 *
 * @param fits  Of the same faces, fitted inside.
 * @returns One fit a face, in order.
 */
export function fitToRims(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], { map, solved }: SettledRoof, points: PointGatherer, runOn: RunOn): FaceFit[] {
  const inside = fitInside(raster, faces, runOn);
  const sides = rimSides(raster, fits, map, solved, openCells(raster, inside));
  const rims = cellsByFace(raster, faces.length, sides.keys());
  const sums = ownCopy(raster);
  const outer = faces.map((face, i): CellFit => {
    const { fit, crowded, reachesRim } = inside[i]!;
    const stretches = rimStretches(raster, faces, fits, face, rims[i]!, sides, points);
    if (reachesRim && crowded.length > 0) stretches.push(wholeCells(raster, crowded));
    const joined = stretches.filter((stretch) => keepsToPlane(raster, fit, fits[i]!, stretch));
    if (joined.length === 0) return fit;
    for (const stretch of joined) putIn(sums, stretch);
    // What was clutter inside stays so.
    return fitCells(sums, inOrder(fit.cells.concat(...joined.map(({ cells }) => cells))));
  });
  return finishFits(sums, faces, outer);
}

/** Cells whose face goes out to them, and was not fitted to them. */
function openCells({ face }: RoofRaster, inside: readonly InsideFit[]): Uint8Array {
  const isOpen = new Uint8Array(face.length);
  for (let k = 0; k < face.length; k++) if (face[k] !== 0 && inside[face[k]! - 1]!.reachesRim) isOpen[k] = 1;
  for (const { given, crowded } of inside) for (const k of given.concat(crowded)) isOpen[k] = 0;
  return isOpen;
}

function cellsByFace({ face }: RoofRaster, count: number, cells: Iterable<number>): number[][] {
  const byFace = Array.from({ length: count }, (): number[] => []);
  for (const k of inOrder([...cells])) byFace[face[k]! - 1]!.push(k);
  return byFace;
}

const ownCopy = ({ origin, step, columns, rows, count, sum, squares }: RoofRaster): Required<FitSums> => ({
  origin, step, columns, rows, count: count.slice(), sum: sum.slice(), squares: squares.slice(), offsetX: new Float32Array(count.length), offsetY: new Float32Array(count.length),
});

const wholeCells = ({ count, sum, squares }: RoofRaster, cells: readonly number[]): RimStretch => ({
  cells: [...cells],
  sums: cells.map((k) => ({ count: count[k]!, sum: sum[k]!, squares: squares[k]!, offsetX: 0, offsetY: 0 })),
});

/** Neither farther off than the noise makes little of, nor farther than chance would have it. */
function keepsToPlane(raster: RoofRaster, fit: CellFit, known: FaceFit, { cells, sums }: RimStretch): boolean {
  const limit = ROUNDED_SHARE * noiseOf(fit);
  let total = 0;
  let count = 0;
  let mx = 0;
  let my = 0;
  const above = sums.map((own, i) => {
    const [x, y] = cellCentre(raster, cells[i]!);
    const height = own.sum / own.count - correctionAt(fit, [x + own.offsetX, y + own.offsetY]);
    total += own.count * height;
    count += own.count;
    mx += own.count * x;
    my += own.count * y;
    return height;
  });
  const chance = Math.sqrt((known.noise ** 2 * known.correlation.inflation) / count + heightVariance(known, [mx / count, my / count]));
  return Math.abs(upperMedian(above)) <= limit && Math.abs(total / count) <= Math.min(limit, CHANCE_SIGMAS * chance);
}

function putIn({ count, sum, squares, offsetX, offsetY }: Required<FitSums>, { cells, sums }: RimStretch): void {
  cells.forEach((k, i) => {
    const own = sums[i]!;
    count[k] = own.count;
    sum[k] = own.sum;
    squares[k] = own.squares;
    offsetX[k] = own.offsetX;
    offsetY[k] = own.offsetY;
  });
}
