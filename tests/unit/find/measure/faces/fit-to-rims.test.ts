import { describe, expect, it } from 'vitest';
import { makeRandom } from '../../../../../sample-data/generator/random.ts';
import { splitArcs } from '../../../../../src/find/measure/borders/split-arcs.ts';
import { solveCorners } from '../../../../../src/find/measure/corners/solve-corners.ts';
import { refineEdges } from '../../../../../src/find/measure/edges/refine-edges.ts';
import { fitFaces, type FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { fitToRims } from '../../../../../src/find/measure/faces/fit-to-rims.ts';
import { fillFaces } from '../../../../../src/find/measure/faces/roof-faces.ts';
import { pointLookup, tileKey } from '../../../../../src/find/measure/raster/point-lookup.ts';
import { NONE_RUN_ON } from '../../../../../src/find/measure/raster/pool-cells.ts';
import type { RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { sumTile } from '../../../../../src/find/measure/raster/tile-sums.ts';
import { traceLabelArcs } from '../../../../../src/geometry/label-arcs.ts';
import type { Plane } from '../../../../../src/geometry/plane.ts';

const [STEP, SIDE, SPACING, NOISE] = [0.1, 60, 0.05, 0.02];
/** Four metres by three, eaves at x = 1 and 5, ridge at x = 3; 0.6 is 31°. */
const [LEFT, RIDGE, RIGHT, SOUTH, NORTH, SLOPE] = [1, 3, 5, 1.5, 4.5, 0.6];

const planes = [SLOPE, -SLOPE].map((slope): Plane => {
  const length = Math.hypot(1, slope);
  return { normal: [-slope / length, 0, 1 / length], offset: (slope * RIDGE) / length };
});

interface Made {
  /** Lower than the planes by so much within so far of the ridge. [m] */
  readonly rounded?: { readonly by: number; readonly within: number };
  /** A wall under the western face reaches it from below, so far inside its eave. [m] */
  readonly wallInside?: number;
  readonly seed: number;
}

/** Fits of both faces of a gable, inside and to their sides. */
function gable({ seed, rounded, wallInside }: Made): { inside: FaceFit[]; outer: FaceFit[] } {
  const random = makeRandom(seed);
  const positions: number[] = [];
  const labels: number[] = [];
  for (let y = SOUTH; y < NORTH; y += SPACING) {
    for (let x = LEFT; x < RIGHT; x += SPACING) {
      const [px, py] = [x + random.next() * SPACING, y + random.next() * SPACING];
      const away = Math.abs(px - RIDGE);
      const z = -SLOPE * away + NOISE * random.normal() - (rounded && away < rounded.within ? rounded.by : 0);
      const residuals = planes.map(({ normal: [a, , c], offset }) => Math.abs(a * px + c * z + offset));
      positions.push(px, py, z);
      labels.push(residuals[0]! < residuals[1]! ? 1 : 2);
    }
  }
  if (wallInside !== undefined) {
    for (let y = SOUTH; y < NORTH; y += SPACING) {
      for (let down = 0; down < 2; down += SPACING) {
        const px = LEFT + wallInside + NOISE * random.normal();
        const z = -SLOPE * (RIDGE - LEFT - wallInside) - down - random.next() * SPACING;
        const { normal: [a, , c], offset } = planes[0]!;
        positions.push(px, y + random.next() * SPACING, z);
        labels.push(Math.abs(a * px + c * z + offset) < 3 * NOISE ? 1 : 0);
      }
    }
  }
  const table = new Float64Array([0, 0, 0, 0, ...planes.flatMap(({ normal, offset }) => [...normal, offset])]);
  const cell = { origin: [0, 0, 0] as const, positions: Float32Array.from(positions) };
  const own = Uint16Array.from(labels);
  const answer = sumTile({ ...cell, labels: own, side: SIDE, step: STEP, planes: table });
  const size = SIDE * SIDE;
  const raster: RoofRaster = {
    origin: [0, 0], step: STEP, columns: SIDE, rows: SIDE, firstColumn: 0, firstRow: 0, side: SIDE, ...answer.sums,
    face: new Uint16Array(size), foreign: new Uint8Array(size), filled: new Uint8Array(size),
  };
  const points = pointLookup(raster, new Map([[tileKey(0, 0), { column: 0, row: 0, cell, labels: own, ...answer }]]));
  const faces = fillFaces(raster, { noise: NOISE, planeOf: (label) => planes[label - 1]! });
  const inside = fitFaces(raster, faces);
  const map = splitArcs(traceLabelArcs(raster.face, SIDE, SIDE), raster, inside);
  refineEdges(map, solveCorners(map, STEP), faces, inside, raster, points);
  return { inside, outer: fitToRims(raster, faces, inside, { map, solved: solveCorners(map, STEP) }, points, NONE_RUN_ON) };
}

const SEEDS = Array.from({ length: 30 }, (_, i) => i + 1);

/** Errors of the slope up the fall, of both faces. */
const errorsOf = (fits: readonly FaceFit[]): number[] => fits.map(({ slopeX }) => Math.abs(slopeX) - SLOPE);
const rms = (values: readonly number[]): number => Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

describe('faces fitted up to their sides', () => {
  it('have nearly the scatter of least squares of all their points', () => {
    const roofs = SEEDS.map((seed) => gable({ seed }));
    // A line through points spread evenly over a width: sigma of its slope is noise × sqrt(12 / n) / width (any textbook on regression).
    const [width, count] = [RIDGE - LEFT, ((RIDGE - LEFT) * (NORTH - SOUTH)) / SPACING ** 2];
    const least = (NOISE * Math.sqrt(12 / count)) / width;
    const outer = rms(roofs.flatMap((roof) => errorsOf(roof.outer)));
    expect(outer).toBeLessThan(rms(roofs.flatMap((roof) => errorsOf(roof.inside))));
    // 60 values know their rms to 9 %.
    expect(outer / least).toBeLessThan(1.28);
    for (const { inside, outer } of roofs) for (const i of [0, 1]) expect(outer[i]!.pointCount).toBeGreaterThan(inside[i]!.pointCount);
  });

  it('have intervals that hold', () => {
    const z = SEEDS.flatMap((seed) => gable({ seed }).outer.map((fit) => (Math.abs(fit.slopeX) - SLOPE) / Math.sqrt(fit.covariance[4]!)));
    const within = z.filter((value) => Math.abs(value) < 1.96).length / z.length;
    // 0.95 of 60, two sigmas of the binomial below.
    expect(within).toBeGreaterThanOrEqual(0.89);
    expect(rms(z)).toBeGreaterThan(0.6);
  });

  it('are not drawn down by a ridge that is rounded off', () => {
    const errors = SEEDS.slice(0, 10).flatMap((seed) => errorsOf(gable({ seed, rounded: { by: 0.03, within: 0.1 } }).outer));
    // With those points among them least squares would lie 6 (0.1 / 2) 0.03 / 2 = 0.0045 too flat.
    const mean = errors.reduce((sum, error) => sum + error, 0) / errors.length;
    expect(Math.abs(mean)).toBeLessThan(0.0007);
  });

  it('are not drawn down by the top of a wall that reaches them from below', () => {
    const errors = SEEDS.map((seed) => Math.abs(gable({ seed, wallInside: 0.35 }).outer[0]!.slopeX) - SLOPE);
    const mean = errors.reduce((sum, error) => sum + error, 0) / errors.length;
    // Two points of the wall in every 5 cm of its length lie 3 cm under the plane in the mean, 0.65 m from its middle: with them
    // least squares would lie 2 × 0.03 × 0.65 / (40 × 2² / 12) = 0.003 too steep.
    expect(Math.abs(mean)).toBeLessThan(0.001);
  });
});
