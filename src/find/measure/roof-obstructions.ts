import { findRaised, type RaisedPatch } from './find-obstructions.ts';
import type { FaceFit } from './fit-faces.ts';
import { elevationAt } from './intersections.ts';
import { ANNULUS_CELLS, grown, measureObstruction, type MeasuredObstruction } from './measure-obstruction.ts';
import { pickStore, type PointSource } from './picked-store.ts';
import { cellCentre, type Face, type RoofRaster } from './roof-raster.ts';

/** Planes that differ by more than this at a border stand above one another there. [m] */
const STEP_HEIGHT = 0.12;
/** Large things are measured from a rim of this many cells and every so many of the cells inside. */
const MOST_CELLS = 4000;

/** Finds and measures everything that stands on a building's planes. */
export async function roofObstructions(
  raster: RoofRaster,
  faces: readonly Face[],
  fits: readonly FaceFit[],
  source: PointSource,
  groundSampleDistance: number | null,
): Promise<MeasuredObstruction[]> {
  const patches = findRaised(raster, faces, fits, stepCells(raster, fits)).filter(belongsToRoof);
  const wanted = new Uint8Array(raster.face.length);
  const taken = new Uint8Array(raster.face.length);
  for (const { cells } of patches) {
    for (const k of cells) taken[k] = 1;
    for (const k of grown(raster, cells.length > MOST_CELLS ? cells.filter((_, i) => i % 2 === 0) : cells, ANNULUS_CELLS)) wanted[k] = 1;
  }
  const store = await pickStore(raster, wanted, source);
  const context = { raster, faces, fits, store, groundSampleDistance, taken };
  return patches.flatMap((patch) => measureObstruction(patch, context) ?? []);
}

/** A raised patch that goes on far beyond the rim is a tree or a neighbour, not a thing on this roof. */
const belongsToRoof = ({ cells, beyondRim }: RaisedPatch): boolean => beyondRim <= 0.6 * cells.length + 2;

/** Cells where one plane ends above or below another. */
function stepCells(raster: RoofRaster, fits: readonly FaceFit[]): Uint8Array {
  const { face, columns } = raster;
  const steps = new Uint8Array(face.length);
  const compare = (k: number, n: number): void => {
    const [a, b] = [face[k]!, face[n]!];
    if (a === b || a === 0 || b === 0 || a === undefined || b === undefined) return;
    const at = cellCentre(raster, k);
    if (Math.abs(elevationAt(fits[a - 1]!, at) - elevationAt(fits[b - 1]!, at)) > STEP_HEIGHT) steps[k] = steps[n] = 1;
  };
  for (let k = 0; k + columns < face.length; k++) {
    compare(k, k + 1);
    compare(k, k + columns);
  }
  return steps;
}
