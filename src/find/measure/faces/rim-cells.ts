import type { GatheredPoints, PointGatherer } from '../raster/point-lookup.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import type { FaceFit } from './fit-faces.ts';
import type { RimSide } from './rim-sides.ts';

/** Cells of a face along one of its sides, and the sums of the face's own points in each. */
export interface RimStretch {
  readonly cells: number[];
  readonly sums: RimSums[];
}

/** What a rim cell holds of its face. */
export interface RimSums {
  readonly count: number;
  /** Of distances above the segment's plane, along its normal, and of their squares. [m, m²] */
  readonly sum: number;
  readonly squares: number;
  /** Mean of the points' places from the middle of the cell. [m] */
  readonly offsetX: number;
  readonly offsetY: number;
}

/** A point of a neighbour's label counts as the face's own within this many sigmas of its noise: near their line labels are guesses. */
const WITHIN_SIGMAS = 3.5;
/** A cell where so many points stand above the face, over its own, holds something else: a flashing, a gutter, a wall that goes up. */
const OTHERS_SHARE = 0.25;

/** Sums of the points of rim cells inside their sides, a stretch a side, in order of the first cells. */
export function rimStretches(
  raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], own: Face, cells: readonly number[], sidesOf: ReadonlyMap<number, readonly RimSide[]>, points: PointGatherer,
): RimStretch[] {
  const sure = cells.filter((k) => sidesOf.get(k)!.every(({ isSure }) => isSure));
  const gathered = points.gather(sure);
  const stretches = new Map<number, RimStretch>();
  sure.forEach((k, c) => {
    const sides = sidesOf.get(k)!;
    const sums = sumsInside(gathered, c, cellCentre(raster, k), insideOf(sides, faces, own), own, fits[own.number - 1]!);
    if (!sums) return;
    const { piece } = sides[0]!;
    const stretch = stretches.get(piece);
    if (stretch) {
      stretch.cells.push(k);
      stretch.sums.push(sums);
    } else stretches.set(piece, { cells: [k], sums: [sums] });
  });
  return [...stretches.values()];
}

/** Where a cell's points are its face's, and the labels they may have. */
interface Inside {
  /** a, b, c of each side: a x + b y + c is positive inside. */
  readonly sides: Float64Array;
  readonly labels: readonly number[];
}

function insideOf(sides: readonly RimSide[], faces: readonly Face[], own: Face): Inside {
  const labels = [own.label];
  const lines = new Float64Array(3 * sides.length);
  sides.forEach(({ other, margin, line: { at: [x, y], direction: [dx, dy] } }, i) => {
    lines.set([-dy, dx, x * dy - y * dx - margin], 3 * i);
    if (other !== 0) labels.push(faces[other - 1]!.label);
  });
  return { sides: lines, labels };
}

function sumsInside(
  { x, y, z, label, from }: GatheredPoints, cell: number, [cx, cy]: readonly [number, number], { sides, labels }: Inside, { plane }: Face, fit: FaceFit,
): RimSums | null {
  const [nx, ny, nz] = plane.normal;
  const { elevation, slopeX, slopeY, centroid: [fx, fy] } = fit;
  const within = (WITHIN_SIGMAS * fit.noise) / nz;
  let count = 0;
  let others = 0;
  let sum = 0;
  let squares = 0;
  let dx = 0;
  let dy = 0;
  for (let i = from[cell]!; i < from[cell + 1]!; i++) {
    const px = x[i]!;
    const py = y[i]!;
    if (!liesInside(sides, px, py)) continue;
    const rise = z[i]! - (elevation + slopeX * (px - fx) + slopeY * (py - fy));
    if (Math.abs(rise) > within || !labels.includes(label[i]!)) {
      if (rise > 0) others++;
      continue;
    }
    const above = nx * px + ny * py + nz * z[i]! + plane.offset;
    count++;
    sum += above;
    squares += above * above;
    dx += px - cx;
    dy += py - cy;
  }
  if (count === 0 || others > OTHERS_SHARE * count) return null;
  return { count, sum, squares, offsetX: dx / count, offsetY: dy / count };
}

function liesInside(sides: Float64Array, x: number, y: number): boolean {
  for (let s = 0; s < sides.length; s += 3) if (sides[s]! * x + sides[s + 1]! * y + sides[s + 2]! < 0) return false;
  return true;
}
