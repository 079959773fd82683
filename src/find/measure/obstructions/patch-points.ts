import { upperMedian } from '../../../geometry/order-statistic.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import type { PointGatherer } from '../raster/point-lookup.ts';
import { meanHeightU95 } from '../faces/residual-correlation.ts';
import type { Face, RoofRaster } from '../raster/roof-raster.ts';

/** Cells around a patch whose points are wanted too: its own rim, then the roof it is compared with. */
const ANNULUS_CELLS = 5;
export const GAP_CELLS = 1;

export interface ObstructionContext {
  readonly raster: RoofRaster;
  readonly faces: readonly Face[];
  readonly fits: readonly FaceFit[];
  readonly points: PointGatherer;
  readonly groundSampleDistance: number | null;
  /** Non-zero for cells that belong to some patch. */
  readonly taken: Uint8Array;
}

export interface PatchPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** Above the roof, vertical. [m] */
  readonly rise: Float64Array;
}

/** Points of the patch and its own rim. */
export const patchPoints = (patch: RaisedPatch, fit: FaceFit, { raster, points, fits }: ObstructionContext): PatchPoints =>
  gather(grown(raster, patch.cells, 1), fit, raster, points, fits);

function gather(cells: readonly number[], fit: FaceFit, raster: RoofRaster, points: PointGatherer, fits: readonly FaceFit[]): PatchPoints {
  const { x, y, z, from } = points.gather(cells);
  const rise = new Float64Array(x.length);
  cells.forEach((k, c) => {
    // Across a ridge the thing stands on both planes: the lower of the two extensions is not the roof there.
    const { elevation, slopeX, slopeY, centroid } = raster.face[k] ? fits[raster.face[k]! - 1]! : fit;
    for (let i = from[c]!, end = from[c + 1]!; i < end; i++) rise[i] = z[i]! - (elevation + slopeX * (x[i]! - centroid[0]) + slopeY * (y[i]! - centroid[1]));
  });
  return { x, y, z, rise };
}

/** Points of the patch and of the roof about it. */
export function pointsAround(patch: RaisedPatch, fit: FaceFit, { raster, points, fits }: ObstructionContext): PatchPoints {
  return gather(grown(raster, patch.cells, ANNULUS_CELLS - 1), fit, raster, points, fits);
}

/** How far the roof around a patch lies off its plane, and how well that is known. */
export interface RoofLevel {
  /** How far the roof around a patch lies off its plane. [m] */
  readonly offset: number;
  readonly u95: number;
  /** Points of the ring about the patch, and how wide it is. [m] */
  readonly points: number;
  readonly width: number;
}

export function roofAround(patch: RaisedPatch, fit: FaceFit, { raster, points, faces, taken }: ObstructionContext): RoofLevel {
  const near = new Set(grown(raster, patch.cells, GAP_CELLS + 1));
  const cells = grown(raster, patch.cells, ANNULUS_CELLS).filter((k) => !near.has(k) && !taken[k] && raster.face[k] === patch.face);
  const { x, y, z, label: own } = points.gather(cells);
  const { elevation, slopeX, slopeY, centroid } = fit;
  const { label } = faces[patch.face - 1]!;
  const values: number[] = [];
  for (let i = 0; i < x.length; i++) if (own[i] === label) values.push(z[i]! - (elevation + slopeX * (x[i]! - centroid[0]) + slopeY * (y[i]! - centroid[1])));
  const ring = { points: values.length, width: (ANNULUS_CELLS - GAP_CELLS - 1) * raster.step };
  if (values.length < 8) return { offset: 0, u95: SIGMAS_95 * fit.noise, ...ring };
  const width = Math.sqrt(values.length / Math.max(1, fit.density));
  return { offset: upperMedian(values), u95: 1.25 * meanHeightU95(fit.correlation, values.length, 2 * width), ...ring };
}

/** Cells within some cells of a patch, the patch included, in order. */
export function grown({ columns, rows }: RoofRaster, cells: readonly number[], by: number): number[] {
  if (cells.length === 0) return [];
  let left = columns;
  let right = 0;
  let bottom = rows;
  let top = 0;
  for (const k of cells) {
    const x = k % columns;
    const y = Math.floor(k / columns);
    if (x < left) left = x;
    if (x > right) right = x;
    if (y < bottom) bottom = y;
    if (y > top) top = y;
  }
  left = Math.max(0, left - by);
  right = Math.min(columns - 1, right + by);
  bottom = Math.max(0, bottom - by);
  top = Math.min(rows - 1, top + by);
  const width = right - left + 1;
  const isNear = new Uint8Array(width * (top - bottom + 1));
  for (const k of cells) {
    const x = k % columns;
    const y = Math.floor(k / columns);
    const begin = Math.max(left, x - by) - left;
    const end = Math.min(right, x + by) - left + 1;
    for (let v = Math.max(bottom, y - by), last = Math.min(top, y + by); v <= last; v++) isNear.fill(1, (v - bottom) * width + begin, (v - bottom) * width + end);
  }
  const found: number[] = [];
  for (let i = 0; i < isNear.length; i++) if (isNear[i]) found.push((Math.floor(i / width) + bottom) * columns + (i % width) + left);
  return found;
}
