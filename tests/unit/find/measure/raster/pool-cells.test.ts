import { describe, expect, it } from 'vitest';
import { fitFaces } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { poolCells } from '../../../../../src/find/measure/raster/pool-cells.ts';
import type { PointLookup } from '../../../../../src/find/measure/raster/point-lookup.ts';
import { cellCentre, type Face, type RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { makeRandom } from '../../../../../sample-data/generator/random.ts';
import { blankRaster } from '../../../../fixtures/blank-raster.ts';

const [STEP, COLUMNS, ROWS, VALLEY, NOISE, PER_CELL] = [0.1, 100, 80, 5, 0.02, 4];

/** Two planes that fall to a valley at x = 5 m; all points of a cell share their error, and have the label of the nearer plane. */
function valley(fall: number): { raster: RoofRaster; faces: Face[]; points: PointLookup } {
  const random = makeRandom(7);
  const size = COLUMNS * ROWS;
  const raster = blankRaster(COLUMNS, ROWS, STEP);
  const faces = [-fall, fall].map((slope, i): Face => {
    const length = Math.hypot(1, slope);
    return { number: i + 1, label: i + 1, plane: { normal: [-slope / length, 0, 1 / length], offset: (slope * VALLEY) / length } };
  });
  const heights = new Float64Array(size);
  const labels = new Uint16Array(size);
  for (let y = 1; y < ROWS - 1; y++) {
    for (let x = 1; x < COLUMNS - 1; x++) {
      const k = y * COLUMNS + x;
      const [px] = cellCentre(raster, k);
      heights[k] = fall * Math.abs(px - VALLEY) + NOISE * random.normal();
      const away = faces.map(({ plane: { normal, offset } }) => normal[0] * px + normal[2] * heights[k]! + offset);
      labels[k] = Math.abs(away[0]!) < Math.abs(away[1]!) ? 1 : 2;
      raster.face[k] = px < VALLEY ? 1 : 2;
      raster.label[k] = labels[k]!;
      raster.count[k] = PER_CELL;
      raster.sum[k] = PER_CELL * away[labels[k]! - 1]!;
      raster.squares[k] = PER_CELL * away[labels[k]! - 1]! ** 2;
      raster.filled[k] = raster.label[k] === raster.face[k] ? 0 : 1;
    }
  }
  const points: PointLookup = {
    each(k, visit) {
      const [x, y] = cellCentre(raster, k);
      for (let i = 0; i < PER_CELL; i++) visit(x, y, heights[k]!, labels[k]!);
    },
  };
  return { raster, faces, points };
}

describe('cells of planes that are nearly one', () => {
  it('count whole, so that planes are not drawn off by the half of the noise that leans their way', () => {
    const slopeOf = (pooled: boolean): number[] => {
      const { raster, faces, points } = valley(0.02);
      const runOn = pooled ? poolCells(raster, faces, points, NOISE) : undefined;
      return fitFaces(raster, faces, runOn).map(({ slopeX }) => slopeX);
    };
    // Some 3800 cells over 5 m: the noise alone turns a plane by 0.02 / sqrt(3800) / 1.44 = 0.0002.
    for (const [i, slope] of slopeOf(false).entries()) expect(Math.abs(slope - [-0.02, 0.02][i]!)).toBeGreaterThan(0.001);
    for (const [i, slope] of slopeOf(true).entries()) expect(Math.abs(slope - [-0.02, 0.02][i]!)).toBeLessThan(0.0007);
  });

  it('leave no margin at their border, and are left as they are where the planes part fast', () => {
    const shallow = valley(0.02);
    const runOn = poolCells(shallow.raster, shallow.faces, shallow.points, NOISE);
    const isNear = (k: number): boolean => Math.abs(cellCentre(shallow.raster, k)[0] - VALLEY) < 1.9;
    expect(shallow.raster.filled.some((value, k) => value !== 0 && isNear(k))).toBe(false);
    const beside = 40 * COLUMNS + 49;
    expect(runOn(1, 2, beside)).toBe(true);
    const steep = valley(0.5);
    const before = steep.raster.label.slice();
    expect(poolCells(steep.raster, steep.faces, steep.points, NOISE)(1, 2, beside)).toBe(false);
    expect(steep.raster.label).toEqual(before);
  });
});
