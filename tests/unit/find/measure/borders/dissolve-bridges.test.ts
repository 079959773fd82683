import { describe, expect, it } from 'vitest';
import { dissolveBridges } from '../../../../../src/find/measure/borders/dissolve-bridges.ts';
import { NONE_DRAWN } from '../../../../../src/find/measure/borders/drawn-border.ts';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { cellCentre, type Face, type RoofRaster } from '../../../../../src/find/measure/raster/roof-raster.ts';
import { blankRaster } from '../../../../fixtures/blank-raster.ts';

const [STEP, COLUMNS, ROWS, CREASE, FALL] = [0.1, 120, 80, 6, 0.02];

interface Strip {
  /** From and to, across the crease. [m] */
  readonly from: number;
  readonly to: number;
  /** Elevation and slope of its plane at its middle. */
  readonly elevation: number;
  readonly slopeX: number;
}

/** Two planes of 2 % that meet at x = 6 m in a ridge (-1) or a valley (+1), and a strip with a plane of its own over their crease. */
function creaseUnderStrip(bend: 1 | -1, { from, to, elevation, slopeX }: Strip, [height, slope] = [0.004, 0.003]): { raster: RoofRaster; faces: Face[]; fits: FaceFit[] } {
  const raster = blankRaster(COLUMNS, ROWS, STEP);
  for (let y = 1; y < ROWS - 1; y++) {
    for (let x = 1; x < COLUMNS - 1; x++) {
      const k = y * COLUMNS + x;
      const [across] = cellCentre(raster, k);
      raster.face[k] = raster.label[k] = across < from ? 1 : across < to ? 2 : 3;
      raster.count[k] = 4;
    }
  }
  const fit = (x: number, z: number, gradient: number): FaceFit => ({
    centroid: [x, 4], elevation: z, slopeX: gradient, slopeY: 0, covariance: [height ** 2, 0, 0, 0, slope ** 2, 0, 0, 0, slope ** 2],
    correlation: { distances: new Float64Array(1), covariance: new Float64Array(1), alone: 0, length: 0, inflation: 1 }, noise: 0.02, pointCount: 10000, density: 400, notes: [],
  });
  const side = (x: number): FaceFit => fit(x, bend * FALL * Math.abs(x - CREASE), bend * FALL * Math.sign(x - CREASE));
  const fits = [side(from / 2), fit((from + to) / 2, elevation, slopeX), side((to + 12) / 2)];
  const faces = fits.map((one, i): Face => {
    const length = Math.hypot(1, one.slopeX);
    return { number: i + 1, label: i + 1, plane: { normal: [-one.slopeX / length, 0, 1 / length], offset: (one.slopeX * one.centroid[0] - one.elevation) / length } };
  });
  return { raster, faces, fits };
}

/** Mean of |x| over a strip of half width w is w / 2: what one level plane through a crease differs from its line by. */
const overCrease = (bend: 1 | -1, halfWidth: number, off = 0): Strip => ({
  from: CREASE - halfWidth, to: CREASE + halfWidth, elevation: (bend * FALL * halfWidth) / 2 + off, slopeX: 0,
});

const wrongCells = (raster: RoofRaster): number =>
  raster.face.reduce((n, own, k) => n + (own !== 0 && own !== (cellCentre(raster, k)[0] < CREASE ? 1 : 3) ? 1 : 0), 0);

describe('faces that bridge the crease of two planes', () => {
  it.each([1, -1] as const)('go to the two planes, each as far as their line, however large they are (bend %i)', (bend) => {
    // 2 m to either side are half of what is left of each plane; the plane of the strip is 4 mm off, a sigma.
    const { raster, faces, fits } = creaseUnderStrip(bend, overCrease(bend, 2, 0.004));
    expect([...dissolveBridges(raster, faces, fits, NONE_DRAWN).keys()]).toEqual([2]);
    expect(wrongCells(raster)).toBe(0);
    // The points keep their heights: those seen on the strip's plane are now so far from the side's.
    const k = 40 * COLUMNS + 45;
    const { normal, offset } = faces[0]!.plane;
    const [x, y] = cellCentre(raster, k);
    const strip = bend * FALL + 0.004;
    expect(raster.sum[k]! / raster.count[k]!).toBeCloseTo(normal[0] * x + normal[1] * y + normal[2] * strip + offset, 6);
  });

  it('stay where the roof is cut off level below the ridge, and where a cricket fills the valley', () => {
    // The level strip lies as high as the planes at its sides: 20 mm off the mean of the crease, 7 sigmas of the strip and its sides.
    for (const bend of [1, -1] as const) {
      const { raster, faces, fits } = creaseUnderStrip(bend, { ...overCrease(bend, 2), elevation: bend * FALL * 2 }, [0.002, 0.0015]);
      expect(dissolveBridges(raster, faces, fits, NONE_DRAWN).size).toBe(0);
      expect(wrongCells(raster)).toBeGreaterThan(3000);
    }
  });

  it('stay where they stand out of the scatter, however unsure the planes of an uneven deck are', () => {
    // 23 mm root mean square, at 20 mm of noise.
    const { raster, faces, fits } = creaseUnderStrip(1, { ...overCrease(1, 2), elevation: FALL * 2 }, [0.02, 0.015]);
    expect(dissolveBridges(raster, faces, fits, NONE_DRAWN).size).toBe(0);
  });

  it('stay where the crease is not among them: whether a face is one with a neighbour is not asked here', () => {
    const { raster, faces, fits } = creaseUnderStrip(1, { from: 2, to: 5.9, elevation: 0.041, slopeX: -FALL });
    expect(dissolveBridges(raster, faces, fits, NONE_DRAWN).size).toBe(0);
  });

  it('stay where a neighbour would have to be carried on over more than was seen of it', () => {
    const { raster, faces, fits } = creaseUnderStrip(1, overCrease(1, 3.2));
    expect(dissolveBridges(raster, faces, fits, NONE_DRAWN).size).toBe(0);
  });

  it('stay where a person drew a border of theirs, or made them', () => {
    const { raster, faces, fits } = creaseUnderStrip(1, overCrease(1, 2));
    expect(dissolveBridges(raster, faces, fits, () => ({ at: [4, 1], direction: [0, 1] })).size).toBe(0);
    expect(dissolveBridges(raster, faces, fits, NONE_DRAWN, [faces[0]!, faces[2]!]).size).toBe(0);
    expect(dissolveBridges(raster, faces, fits, NONE_DRAWN).size).toBe(1);
  });
});
