import { describe, expect, it } from 'vitest';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { cellCentre, type Face, type RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { runOnBorders } from '../../../../../src/find/measure/borders/run-on-borders.ts';
import { blankRaster } from '../../../../fixtures/blank-raster.ts';

const [STEP, COLUMNS, ROWS, RIDGE, NORTH] = [0.1, 100, 60, 5, 3];
/** Slopes along x and y of the west bay's north and east falls, and of the east bay's north and west falls. */
const FALLS = [[0, 0.02], [0.015, 0], [0, 0.02], [-0.015, 0]] as const;

/** Two bays with a ridge between them; the border of their north falls has strayed east by some metres. */
function twoBays(strayed: number, northSlopes: readonly [number, number] = [0.02, 0.02]): { raster: RoofRaster; faces: Face[]; fits: FaceFit[] } {
  const raster = blankRaster(COLUMNS, ROWS, STEP);
  for (let y = 1; y < ROWS - 1; y++) {
    for (let x = 1; x < COLUMNS - 1; x++) {
      const k = y * COLUMNS + x;
      const at = cellCentre(raster, k);
      raster.face[k] = raster.label[k] = at[1] > NORTH ? (at[0] < RIDGE + strayed ? 1 : 3) : at[0] < RIDGE ? 2 : 4;
      raster.count[k] = 4;
    }
  }
  const slopes = FALLS.map(([x, y], i) => [x, i === 0 ? northSlopes[0] : i === 2 ? northSlopes[1] : y] as const);
  const faces = slopes.map(([sx, sy], i): Face => {
    const length = Math.hypot(1, sx, sy);
    return { number: i + 1, label: i + 1, plane: { normal: [-sx / length, -sy / length, 1 / length], offset: 0 } };
  });
  const fits = slopes.map(([slopeX, slopeY], i): FaceFit => {
    const centroid: [number, number] = [i < 2 ? 2.5 : 7.5, i % 2 === 0 ? 4.5 : 1.5];
    const elevation = slopeX * (centroid[0] - RIDGE) + slopeY * (centroid[1] - NORTH);
    return {
      centroid, elevation, slopeX, slopeY, covariance: [1e-6, 0, 0, 0, 1e-7, 0, 0, 0, 1e-7], noise: 0.02, pointCount: 10000, density: 400, notes: [],
      correlation: { distances: new Float64Array(1), covariance: new Float64Array(1), alone: 0, length: 0, inflation: 1 },
    };
  });
  return { raster, faces, fits };
}

/** Where the border of the north falls lies, row by row. [m] */
function borderPlaces(raster: RoofRaster): number[] {
  return Array.from({ length: ROWS - 2 }, (_, i) => i + 1).filter((y) => (y + 0.5) * STEP > NORTH)
    .map((y) => Array.from({ length: COLUMNS }, (_, x) => raster.face[y * COLUMNS + x]!).lastIndexOf(1) * STEP + STEP);
}

describe('falls of two bays that are one in slope', () => {
  it('border where the ridge between the bays runs on, to whichever side their border strayed', () => {
    for (const strayed of [0.8, -0.8]) {
      const { raster, faces, fits } = twoBays(strayed);
      expect(runOnBorders(raster, faces, fits, () => null)).toBeGreaterThan(200);
      for (const place of borderPlaces(raster)) expect(Math.abs(place - RIDGE)).toBeLessThan(STEP);
    }
  });

  it('stay where a person drew the border, where they differ in slope, and where no ridge ends near', () => {
    const drawn = twoBays(0.8);
    expect(runOnBorders(drawn.raster, drawn.faces, drawn.fits, (a, b) => (a + b === 4 ? { at: [5.8, 0], direction: [0, 1] } : null))).toBe(0);
    const differing = twoBays(0.8, [0.02, 0.05]);
    expect(runOnBorders(differing.raster, differing.faces, differing.fits, () => null)).toBe(0);
    const far = twoBays(3.5);
    expect(runOnBorders(far.raster, far.faces, far.fits, () => null)).toBe(0);
  });
});
