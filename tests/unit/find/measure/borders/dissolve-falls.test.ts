import { describe, expect, it } from 'vitest';
import { dissolveFalls } from '../../../../../src/find/measure/borders/dissolve-falls.ts';
import { NONE_DRAWN } from '../../../../../src/find/measure/borders/drawn-border.ts';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import type { Face, RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { blankRaster } from '../../../../fixtures/blank-raster.ts';

const [STEP, COLUMNS, ROWS] = [0.1, 120, 80];

/** A level deck of 11.8 × 7.8 m with a face of 2 × 2 m in its corner that falls into it. */
function deckWithCorner(fall: number): { raster: RoofRaster; faces: Face[]; fits: FaceFit[] } {
  const raster = blankRaster(COLUMNS, ROWS, STEP);
  for (let y = 1; y < ROWS - 1; y++) {
    for (let x = 1; x < COLUMNS - 1; x++) {
      const k = y * COLUMNS + x;
      raster.face[k] = raster.label[k] = x <= 20 && y <= 20 ? 2 : 1;
      raster.count[k] = 4;
    }
  }
  const faces = [0, -fall].map((slope, i): Face => {
    const length = Math.hypot(1, slope);
    return { number: i + 1, label: i + 1, plane: { normal: [-slope / length, 0, 1 / length], offset: (slope * 2) / length } };
  });
  // Waves of the noise leave 3 mm of height and 0.5 % of slope on four square metres, a tenth of that on the deck.
  const fit = (x: number, y: number, slopeX: number, height: number, slope: number): FaceFit => ({
    centroid: [x, y], elevation: slopeX * (x - 2), slopeX, slopeY: 0, covariance: [height ** 2, 0, 0, 0, slope ** 2, 0, 0, 0, slope ** 2],
    correlation: { distances: new Float64Array(1), covariance: new Float64Array(1), alone: 0, length: 0, inflation: 1 }, noise: 0.02, pointCount: 10000, density: 400, notes: [],
  });
  return { raster, faces, fits: [fit(6, 4, 0, 0.001, 0.0005), fit(1.1, 1.1, -fall, 0.003, 0.005)] };
}

const cellsOf = ({ face }: RoofRaster, own: number): number => face.reduce((n, f) => n + (f === own ? 1 : 0), 0);

describe('small falls in a larger one', () => {
  it('go to the planes around them where the noise explains them', () => {
    // 1 %: 9 mm of height and two sigmas of slope.
    const { raster, faces, fits } = deckWithCorner(0.01);
    expect([...dissolveFalls(raster, faces, fits, NONE_DRAWN)]).toEqual([[2, 1]]);
    expect(cellsOf(raster, 2)).toBe(0);
    // Points keep their heights: those of the fall's own plane are now up to 2 cm above the deck's.
    const k = 10 * COLUMNS + 1;
    expect(raster.sum[k]! / raster.count[k]!).toBeCloseTo(0.01 * (2 - 0.15), 4);
  });

  it('stay where they are beyond it, and where a person drew their border or made them', () => {
    const steep = deckWithCorner(0.04);
    expect(dissolveFalls(steep.raster, steep.faces, steep.fits, NONE_DRAWN).size).toBe(0);
    const drawn = deckWithCorner(0.01);
    expect(dissolveFalls(drawn.raster, drawn.faces, drawn.fits, () => ({ at: [2, 1], direction: [0, 1] })).size).toBe(0);
    expect(cellsOf(drawn.raster, 2)).toBe(400);
    const made = deckWithCorner(0.01);
    expect(dissolveFalls(made.raster, made.faces, made.fits, NONE_DRAWN, [made.faces[0]!]).size).toBe(0);
  });
});
