import type { Cell } from '../../cloud/cloud.ts';
import { isShared, roomFor } from '../../cloud/point-memory.ts';
import { MOMENTS, type VoxelSize } from './sum-voxels.ts';

/** Numbers a plane takes in `LabelCellWork.planes`. */
export const PLANE_NUMBERS = 9;
/** Bins of the residual histogram of one plane; they span ± `HISTOGRAM_REACH` tolerances. */
export const RESIDUAL_BINS = 128;
export const HISTOGRAM_REACH = 1.5;

/** Everything a cell needs to give its points their labels. Plain data: it crosses threads. */
export interface LabelCellWork {
  readonly cell: Cell;
  readonly voxels: VoxelSize;
  /** The cell's occupied voxels, as `sumVoxels` listed them. */
  readonly columns: Uint32Array;
  readonly levels: Int32Array;
  /** Candidates of voxel k are `candidates[candidateFirst[k]]` up to `candidateFirst[k + 1]`: rows of `planes`. */
  readonly candidateFirst: Uint32Array;
  readonly candidates: Uint16Array;
  /** 1 where points far from every edge may take part in the final fit of the voxel's first candidate. */
  readonly interior: Uint8Array;
  /** A plane a row: label; normal x, y, z; tolerance; a point on the plane, x, y, z, local frame; one spare. */
  readonly planes: Float64Array;
}

export interface LabelledCell {
  /** Label of each point, 0 for none. */
  readonly labels: Uint16Array;
  /** Points with each plane's label. */
  readonly pointCounts: Uint32Array;
  /** Moments of the interior points of each plane, about the plane's own point. */
  readonly sums: Float64Array;
  /** Residuals of the interior points of each plane, also of those beyond the tolerance. */
  readonly residuals: Uint32Array;
}

/** Gives each point of a cell the label of the nearest candidate plane, and sums the interior ones for the final fit. */
export function labelCell(work: LabelCellWork): LabelledCell {
  const { cell, voxels, levels, candidateFirst, candidates, interior, planes } = work;
  const { size, perCell } = voxels;
  const { positions, pointCount, origin } = cell;
  const planeCount = planes.length / PLANE_NUMBERS;
  const result = {
    labels: roomFor(Uint16Array, pointCount, isShared(positions)),
    pointCounts: new Uint32Array(planeCount),
    sums: new Float64Array(MOMENTS * planeCount),
    residuals: new Uint32Array(RESIDUAL_BINS * planeCount),
  };
  if (candidates.length === 0) return result;
  const columnFirst = firstOfColumns(work.columns, perCell);
  const inverse = 1 / size;
  const last = perCell - 1;
  const [ox, oy, oz] = origin;
  for (let i = 0, j = 0; i < pointCount; i++, j += 3) {
    const px = positions[j]!;
    const py = positions[j + 1]!;
    const pz = positions[j + 2]! + oz;
    let vx = (px * inverse) | 0;
    let vy = (py * inverse) | 0;
    if (vx > last) vx = last;
    else if (vx < 0) vx = 0;
    if (vy > last) vy = last;
    else if (vy < 0) vy = 0;
    const level = Math.floor(pz * inverse);
    const column = vy * perCell + vx;
    let voxel = columnFirst[column]!;
    const end = columnFirst[column + 1]!;
    while (voxel < end && levels[voxel]! < level) voxel++;
    const first = candidateFirst[voxel]!;
    const beyond = candidateFirst[voxel + 1]!;
    if (first === beyond) continue;
    const gx = px + ox;
    const gy = py + oy;
    let best = -1;
    let least = 1;
    for (let k = first; k < beyond; k++) {
      const o = PLANE_NUMBERS * candidates[k]!;
      const residual =
        planes[o + 1]! * (gx - planes[o + 5]!) + planes[o + 2]! * (gy - planes[o + 6]!) + planes[o + 3]! * (pz - planes[o + 7]!);
      const share = Math.abs(residual) / planes[o + 4]!;
      if (k === first && interior[voxel]) countResidual(result, candidates[k]!, residual / planes[o + 4]!);
      if (share < least) {
        least = share;
        best = candidates[k]!;
      }
    }
    if (best < 0) continue;
    result.labels[i] = planes[PLANE_NUMBERS * best]!;
    result.pointCounts[best]!++;
    if (interior[voxel] && best === candidates[first]) {
      const o = PLANE_NUMBERS * best;
      addPoint(result.sums, MOMENTS * best, gx - planes[o + 5]!, gy - planes[o + 6]!, pz - planes[o + 7]!);
    }
  }
  return result;
}

function countResidual(result: LabelledCell, plane: number, inTolerances: number): void {
  const bin = Math.floor(((inTolerances / HISTOGRAM_REACH + 1) * RESIDUAL_BINS) / 2);
  if (bin >= 0 && bin < RESIDUAL_BINS) result.residuals[RESIDUAL_BINS * plane + bin]!++;
}

function addPoint(sums: Float64Array, o: number, x: number, y: number, z: number): void {
  sums[o]!++;
  sums[o + 1]! += x;
  sums[o + 2]! += y;
  sums[o + 3]! += z;
  sums[o + 4]! += x * x;
  sums[o + 5]! += x * y;
  sums[o + 6]! += x * z;
  sums[o + 7]! += y * y;
  sums[o + 8]! += y * z;
  sums[o + 9]! += z * z;
}

/** Columns stand in order, so their starts are a running count. */
function firstOfColumns(columns: Uint32Array, perCell: number): Uint32Array {
  const starts = new Uint32Array(perCell * perCell + 1);
  for (const column of columns) starts[column + 1]!++;
  for (let k = 0; k < perCell * perCell; k++) starts[k + 1]! += starts[k]!;
  return starts;
}
