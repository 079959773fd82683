import { describe, expect, it } from 'vitest';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { cellCentre, type Face, type RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { settleBorders } from '../../../../../src/find/measure/borders/settle-borders.ts';
import { blankRaster } from '../../../../fixtures/blank-raster.ts';

const [STEP, COLUMNS, ROWS, VALLEY] = [0.1, 100, 60, 5];

/** Two planes of some fall to a valley at x = 5 m, labelled with a border that wanders about it. */
function wandering(fall: number, wander: (y: number) => number): { raster: RoofRaster; faces: Face[]; fits: FaceFit[] } {
  const raster = blankRaster(COLUMNS, ROWS, STEP);
  const faces = [-fall, fall].map((slope, i): Face => {
    const length = Math.hypot(1, slope);
    return { number: i + 1, label: i + 1, plane: { normal: [-slope / length, 0, 1 / length], offset: (slope * VALLEY) / length } };
  });
  for (let y = 1; y < ROWS - 1; y++) {
    for (let x = 1; x < COLUMNS - 1; x++) {
      const k = y * COLUMNS + x;
      const at = cellCentre(raster, k);
      raster.face[k] = raster.label[k] = at[0] < VALLEY + wander(at[1]) ? 1 : 2;
      raster.count[k] = 4;
      // Points lie on the true surface, the higher of both planes.
      const { normal, offset } = faces[raster.label[k]! - 1]!.plane;
      const above = normal[0] * at[0] + normal[1] * at[1] + normal[2] * fall * Math.abs(at[0] - VALLEY) + offset;
      raster.sum[k] = 4 * above;
      raster.squares[k] = 4 * above * above;
    }
  }
  const fits = [-fall, fall].map((slope): FaceFit => ({
    centroid: [VALLEY + Math.sign(slope) * 2.5, 3], elevation: fall * 2.5, slopeX: slope, slopeY: 0, covariance: [1e-6, 0, 0, 0, 1e-7, 0, 0, 0, 1e-7],
    correlation: { distances: new Float64Array(1), covariance: new Float64Array(1), alone: 0, length: 0, inflation: 1 }, noise: 0.02, pointCount: 10000, density: 400, notes: [],
  }));
  return { raster, faces, fits };
}

const wrongCells = ({ face, ...frame }: RoofRaster): number =>
  face.reduce((n, own, k) => n + (own !== 0 && own !== (cellCentre({ ...frame }, k)[0] < VALLEY ? 1 : 2) ? 1 : 0), 0);

describe('borders of planes that are nearly one', () => {
  it('follow the line where the planes meet, and take their points along', () => {
    const { raster, faces, fits } = wandering(0.015, (y) => 0.7 * Math.sin(2 * y));
    expect(wrongCells(raster)).toBeGreaterThan(200);
    expect(settleBorders(raster, faces, fits)).toBeGreaterThan(200);
    expect(wrongCells(raster)).toBe(0);
    // Every cell's points now lie on the plane of its label.
    expect(Math.max(...raster.sum.map(Math.abs))).toBeLessThan(1e-4);
    expect(Math.max(...raster.squares.map(Math.abs))).toBeLessThan(1e-6);
  });

  it('also where the labels strayed so far that all that is near them speaks for one plane', () => {
    const { raster, faces, fits } = wandering(0.015, () => 1.6);
    // Nothing stands beside the roof for as far as is looked, as around every building.
    raster.face.forEach((_, k) => Math.abs((k % COLUMNS) - COLUMNS / 2) > 36 && (raster.face[k] = 0));
    expect(settleBorders(raster, faces, fits)).toBeGreaterThan(500);
    expect(wrongCells(raster)).toBe(0);
  });

  it('stay with the labels where the planes part fast', () => {
    const { raster, faces, fits } = wandering(0.3, (y) => 0.3 * Math.sin(2 * y));
    expect(settleBorders(raster, faces, fits)).toBe(0);
  });

  it('stay with the labels where the line is not known', () => {
    const { raster, faces, fits } = wandering(0.0015, (y) => 0.7 * Math.sin(2 * y));
    expect(settleBorders(raster, faces, fits.map((fit) => ({ ...fit, covariance: [1e-5, 0, 0, 0, 1e-6, 0, 0, 0, 1e-6] })))).toBe(0);
  });
});
