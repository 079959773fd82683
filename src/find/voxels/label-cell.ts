import type { Cell } from '../../cloud/cloud.ts';
import { isShared, roomFor } from '../../cloud/point-memory.ts';
import { addPoint, MOMENTS, type VoxelSize } from './sum-voxels.ts';
import { VoxelFinder } from './voxel-finder.ts';

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

/** A thread labels one cell after the other. */
const finder = new VoxelFinder();

/** Gives each point of a cell the label of the nearest candidate plane, and sums the interior ones for the final fit. */
export function labelCell(work: LabelCellWork): LabelledCell {
  const { cell, voxels, columns, levels, candidateFirst, candidates, interior, planes } = work;
  const { size, perCell } = voxels;
  const { positions, pointCount, origin } = cell;
  const planeCount = planes.length / PLANE_NUMBERS;
  const labels = roomFor(Uint16Array, pointCount, isShared(positions));
  const pointCounts = new Uint32Array(planeCount);
  const sums = new Float64Array(MOMENTS * planeCount);
  const residuals = new Uint32Array(RESIDUAL_BINS * planeCount);
  if (candidates.length === 0) return { labels, pointCounts, sums, residuals };
  putVoxels(work);
  const inverse = 1 / size;
  const last = perCell - 1;
  const ox = origin[0];
  const oy = origin[1];
  const oz = origin[2];
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
    const voxel = finder.find(vy * perCell + vx, Math.floor(pz * inverse) | 0);
    if (voxel < 0) continue;
    const first = candidateFirst[voxel]!;
    const beyond = candidateFirst[voxel + 1]!;
    const gx = px + ox;
    const gy = py + oy;
    const inside = interior[voxel] !== 0;
    let best = -1;
    let least = 1;
    for (let k = first; k < beyond; k++) {
      const plane = candidates[k]!;
      const o = PLANE_NUMBERS * plane;
      const residual =
        planes[o + 1]! * (gx - planes[o + 5]!) + planes[o + 2]! * (gy - planes[o + 6]!) + planes[o + 3]! * (pz - planes[o + 7]!);
      const inTolerances = residual / planes[o + 4]!;
      if (k === first && inside) countResidual(residuals, plane, inTolerances);
      const share = Math.abs(inTolerances);
      if (share < least) {
        least = share;
        best = plane;
      }
    }
    if (best < 0) continue;
    const o = PLANE_NUMBERS * best;
    labels[i] = planes[o]!;
    pointCounts[best]!++;
    if (inside && best === candidates[first]) addPoint(sums, MOMENTS * best, gx - planes[o + 5]!, gy - planes[o + 6]!, pz - planes[o + 7]!);
  }
  finder.end(columns, levels, columns.length);
  return { labels, pointCounts, sums, residuals };
}

/** Only voxels with candidates are found; points of others have no label. */
function putVoxels({ voxels: { perCell }, columns, levels, candidateFirst }: LabelCellWork): void {
  let low = Infinity;
  let high = -Infinity;
  for (let k = 0; k < columns.length; k++) {
    if (candidateFirst[k] === candidateFirst[k + 1]) continue;
    if (levels[k]! < low) low = levels[k]!;
    if (levels[k]! > high) high = levels[k]!;
  }
  finder.begin(perCell * perCell, low, high, (low + high) >> 1);
  for (let k = 0; k < columns.length; k++) if (candidateFirst[k] !== candidateFirst[k + 1]) finder.put(columns[k]!, levels[k]!, k);
}

function countResidual(residuals: Uint32Array, plane: number, inTolerances: number): void {
  const bin = Math.floor(((inTolerances / HISTOGRAM_REACH + 1) * RESIDUAL_BINS) / 2);
  if (bin >= 0 && bin < RESIDUAL_BINS) residuals[RESIDUAL_BINS * plane + bin]!++;
}
