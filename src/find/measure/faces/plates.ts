import { planeElevationAt, type Plane } from '../../../geometry/plane.ts';
import { cellCentre, loosenLabel, type RoofRaster } from '../raster/roof-raster.ts';
import { cos } from '../../../geometry/same-math.ts';

/** Larger raised parts of a roof are roofs of their own. [m²] */
const LARGEST_PLATE = 2;
/** A plate lies within a roof at least so many times its size. */
const HOST_TIMES = 4;
/** Share of the cells around it that are the one roof's. */
const ENCLOSED = 0.75;
/** Cosine of the largest turn against it, 10°, and how high it may stand. [m] */
const LEAST_COSINE = cos((10 * Math.PI) / 180);
const HIGHEST = 0.5;
const LEAST_SIGMAS = 1;
/** Cells outside the rim that are asked. */
const LOOK = 3;

/**
 * A hatch, a window or a module seen well enough looks like a small roof plane just above the one around it: its points are
 * loosened, so that it is measured as a thing on that roof.
 */
export function loosenPlates(raster: RoofRaster, noise: number, planeOf: (label: number) => Plane): void {
  const { label, count, columns, step } = raster;
  const cellsOf = new Map<number, number[]>();
  for (let k = 0; k < label.length; k++) {
    if (count[k] === 0 || label[k] === 0) continue;
    const cells = cellsOf.get(label[k]!);
    if (cells) cells.push(k);
    else cellsOf.set(label[k]!, [k]);
  }
  for (const [own, cells] of [...cellsOf].sort((a, b) => a[0] - b[0])) {
    if (cells.length * step * step > LARGEST_PLATE) continue;
    const host = hostOf(own, cells, label, columns);
    if (host === 0 || cellsOf.get(host)!.length < HOST_TIMES * cells.length) continue;
    const [plate, roof] = [planeOf(own), planeOf(host)];
    const cosine = plate.normal[0] * roof.normal[0] + plate.normal[1] * roof.normal[1] + plate.normal[2] * roof.normal[2];
    const rise = cells.reduce((sum, k) => sum + planeElevationAt(plate, cellCentre(raster, k)) - planeElevationAt(roof, cellCentre(raster, k)), 0) / cells.length;
    if (cosine > LEAST_COSINE && rise > LEAST_SIGMAS * noise && rise < HIGHEST) loosenLabel(raster, own, plate);
  }
}

/** Label that most cells a little outside the rim have, 0 where no one label encloses. */
function hostOf(own: number, cells: readonly number[], label: Uint16Array, columns: number): number {
  const votes = new Map<number, number>();
  let asked = 0;
  for (const k of cells) {
    for (const d of [1, -1, columns, -columns]) {
      if (label[k + d] === own) continue;
      const n = k + LOOK * d;
      if (n < 0 || n >= label.length || label[n] === own) continue;
      asked++;
      votes.set(label[n]!, (votes.get(label[n]!) ?? 0) + 1);
    }
  }
  const [host, most] = [...votes].reduce((a, b) => (b[1] > a[1] ? b : a), [0, 0]);
  return most >= ENCLOSED * asked ? host : 0;
}
