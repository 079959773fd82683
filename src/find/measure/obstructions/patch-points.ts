import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { PointLookup } from '../raster/point-lookup.ts';
import { meanHeightU95 } from '../faces/residual-correlation.ts';
import type { Face, RoofRaster } from '../raster/roof-raster.ts';

/** Cells around a patch whose points are wanted too: its own rim, then the roof it is compared with. */
const ANNULUS_CELLS = 5;
const GAP_CELLS = 1;

export interface ObstructionContext {
  readonly raster: RoofRaster;
  readonly faces: readonly Face[];
  readonly fits: readonly FaceFit[];
  readonly points: PointLookup;
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

function gather(cells: readonly number[], fit: FaceFit, raster: RoofRaster, points: PointLookup, fits: readonly FaceFit[]): PatchPoints {
  const x: number[] = [];
  const y: number[] = [];
  const z: number[] = [];
  const rise: number[] = [];
  for (const k of cells) {
    const own = raster.face[k] ? fits[raster.face[k]! - 1]! : fit;
    points.each(k, (px, py, pz) => {
      x.push(px);
      y.push(py);
      z.push(pz);
      // Across a ridge the thing stands on both planes: the lower of the two extensions is not the roof there.
      rise.push(pz - elevationAt(own, [px, py]));
    });
  }
  return { x: Float64Array.from(x), y: Float64Array.from(y), z: Float64Array.from(z), rise: Float64Array.from(rise) };
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
}

export function roofAround(patch: RaisedPatch, fit: FaceFit, { raster, points, faces, taken }: ObstructionContext): RoofLevel {
  const near = new Set(grown(raster, patch.cells, GAP_CELLS + 1));
  const values: number[] = [];
  const { label } = faces[patch.face - 1]!;
  for (const k of grown(raster, patch.cells, ANNULUS_CELLS)) {
    if (near.has(k) || taken[k] || raster.face[k] !== patch.face) continue;
    points.each(k, (x, y, z, own) => {
      if (own === label) values.push(z - elevationAt(fit, [x, y]));
    });
  }
  if (values.length < 8) return { offset: 0, u95: SIGMAS_95 * fit.noise };
  values.sort((a, b) => a - b);
  const width = Math.sqrt(values.length / Math.max(1, fit.density));
  return { offset: values[values.length >> 1]!, u95: 1.25 * meanHeightU95(fit.correlation, values.length, 2 * width) };
}

/** Cells within some cells of a patch, the patch included, in order. */
export function grown({ columns, rows }: RoofRaster, cells: readonly number[], by: number): number[] {
  const found = new Set<number>();
  for (const k of cells) {
    const [x, y] = [k % columns, Math.floor(k / columns)];
    for (let dy = -by; dy <= by; dy++) {
      for (let dx = -by; dx <= by; dx++) {
        if (x + dx >= 0 && x + dx < columns && y + dy >= 0 && y + dy < rows) found.add((y + dy) * columns + x + dx);
      }
    }
  }
  return [...found].sort((a, b) => a - b);
}
