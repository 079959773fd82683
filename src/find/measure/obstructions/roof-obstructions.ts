import { ringContains } from '../../../geometry/polygon.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { findRaised, type HeightsAbove, type RaisedPatch } from './find-obstructions.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import { measureObstruction, type MeasuredObstruction } from './measure-obstruction.ts';
import type { ObstructionContext } from './patch-points.ts';
import { cellCentre, type RoofRaster } from '../raster/roof-raster.ts';

/** Planes that differ by more than this at a border stand above one another there. [m] */
const STEP_HEIGHT = 0.12;

/**
 * Finds and measures everything that stands on a building's planes.
 *
 * @param steps  Of `stepCells`. @param heights  Of `heightsAbove`.
 */
export function roofObstructions(
  { raster, faces, fits, points, groundSampleDistance }: Omit<ObstructionContext, 'taken'>,
  steps: Uint8Array,
  heights: HeightsAbove,
): MeasuredObstruction[] {
  const patches = findRaised(raster, fits, steps, heights).filter(belongsToRoof);
  const taken = new Uint8Array(raster.face.length);
  for (const { cells } of patches) for (const k of cells) taken[k] = 1;
  const context = { raster, faces, fits, points, groundSampleDistance, taken };
  return withoutParts(patches.flatMap((patch) => measureObstruction(patch, context) ?? []));
}

/** A unit on a plinth is a thing of its own; what rises less above the larger thing it lies in is a part of that. [m] */
const PART_HEIGHT = 0.25;

const middleOf = (ring: readonly Vector2[]): Vector2 => [
  ring.reduce((sum, p) => sum + p[0], 0) / ring.length, ring.reduce((sum, p) => sum + p[1], 0) / ring.length,
];

function withoutParts(things: readonly MeasuredObstruction[]): MeasuredObstruction[] {
  const area = (thing: MeasuredObstruction): number => thing.planAreaM2.value!;
  return things.filter((thing) => !things.some((other) =>
    area(other) > area(thing) && thing.heightAboveRoofM.value! < other.heightAboveRoofM.value! + PART_HEIGHT && ringContains(other.footprint, middleOf(thing.footprint)),
  ));
}

/** A raised patch that goes on far beyond the rim is a tree or a neighbour, not a thing on this roof. */
const belongsToRoof = ({ cells, beyondRim }: RaisedPatch): boolean => beyondRim <= 0.6 * cells.length + 2;

/** Cells where one plane ends above or below another. */
export function stepCells(raster: RoofRaster, fits: readonly FaceFit[]): Uint8Array {
  const { face, columns } = raster;
  const steps = new Uint8Array(face.length);
  const compare = (k: number, n: number): void => {
    const a = face[k];
    const b = face[n];
    if (a === b || !a || !b) return;
    const at = cellCentre(raster, k);
    if (Math.abs(elevationAt(fits[a - 1]!, at) - elevationAt(fits[b - 1]!, at)) > STEP_HEIGHT) steps[k] = steps[n] = 1;
  };
  for (let k = 0; k + columns < face.length; k++) {
    compare(k, k + 1);
    compare(k, k + columns);
  }
  return steps;
}
