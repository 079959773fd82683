import { describe, expect, it } from 'vitest';
import { elevationAt, intersectionLine } from '../../../src/find/measure/borders/intersections.ts';
import type { FaceFit } from '../../../src/find/measure/faces/fit-faces.ts';
import { onLine } from '../../../src/geometry/plan-line.ts';
import type { Vector2 } from '../../../src/geometry/vector.ts';
import { areaReadings } from '../../../src/reading/area-uncertainty.ts';
import { DEFAULT_ASSUMPTIONS } from '../../../src/reading/assumptions.ts';
import type { RoofEdge, RoofRecord } from '../../../src/roof/record.ts';
import type { Measured } from '../../../src/units/measured.ts';
import { plainReading } from '../../../src/units/written-reading.ts';
import { surveyPoints } from '../../accuracy/survey-points.ts';

const FOOT = 0.3048;
const STEP = 0.06;
const EAVE = 4;

const held = (number: Measured): number => {
  expect(number.value).not.toBeNull();
  return number.value!;
};

/** Points on the covers of a roof over a plan rectangle in the middle of level ground, all exact. [m] */
function roofPoints(length: number, width: number, heightAt: (x: number, y: number) => number): Float64Array {
  const points: number[] = [];
  const around = 4;
  for (let row = -around; row <= length + around; row += STEP) {
    for (let column = -around; column <= width + around; column += STEP) {
      // Not on a grid, so that no edge falls between two rows everywhere.
      const [x, y] = [row + 0.3 * STEP * Math.sin(7 * column), column + 0.3 * STEP * Math.sin(5 * row)];
      const onRoof = x >= 0 && x <= length && y >= 0 && y <= width;
      points.push(x, y, onRoof ? EAVE + heightAt(x, y) : 0);
    }
  }
  return Float64Array.from(points);
}

const gable = (width: number, slope: number) => (_x: number, y: number) => slope * Math.min(y, width - y);
const hip = (length: number, width: number, slope: number) => (x: number, y: number) => slope * Math.min(x, length - x, y, width - y);

const edgesOf = (record: RoofRecord, kind: RoofEdge['kind']): readonly RoofEdge[] => record.buildings[0]!.edges.filter((edge) => edge.kind === kind);

describe('roofs of trade handbooks, surveyed', () => {
  // Worked example of a page on roof slope factors: 40 ft by 24 ft in plan at 6 in 12 has 1073.3 square feet (factor 1.1180).
  it('a gable roof of 40 by 24 feet at 6 in 12 has 1073.3 square feet', async () => {
    const [length, width] = [40 * FOOT, 24 * FOOT];
    const record = await surveyPoints(roofPoints(length, width, gable(width, 6 / 12)), null);
    const planes = record.buildings[0]!.roofPlanes;
    expect(planes).toHaveLength(2);
    const area = planes.reduce((sum, plane) => sum + held(plane.slopeAreaM2), 0) / FOOT ** 2;
    const u95 = Math.hypot(...planes.map(({ slopeAreaM2 }) => (slopeAreaM2.value === null ? 0 : slopeAreaM2.u95))) / FOOT ** 2;
    expect(Math.abs(area - 1073.3)).toBeLessThan(u95);
    expect(Math.abs(area / 1073.3 - 1)).toBeLessThan(0.005);
    // HIPVAL: 6 in 12 is 26.57 degrees.
    for (const { pitchDeg } of planes) expect(Math.abs(held(pitchDeg) - 26.57)).toBeLessThan(0.02);
  }, 60_000);

  // The same trade's rafter table: a building 28 ft wide at 4 in 12 has common rafters of 14.75 ft (factor 1.0541).
  it('rafters of a building 28 feet wide at 4 in 12 are 14.75 feet long', async () => {
    const width = 28 * FOOT;
    const record = await surveyPoints(roofPoints(11, width, gable(width, 4 / 12)), null);
    const rakes = edgesOf(record, 'rake');
    expect(rakes).toHaveLength(4);
    for (const { slopeLengthM } of rakes) {
      // The printed figure is rounded to 0.01 ft; a rake ends at the ridge, half a ridge's breadth is in its own ±.
      expect(Math.abs(held(slopeLengthM) / FOOT - 14.757)).toBeLessThan((slopeLengthM.value === null ? 0 : slopeLengthM.u95) / FOOT + 0.01);
    }
  }, 60_000);

  // Table of hip and valley factors (roofonline.com): at 8 in 12 a hip is 1.5635 times the run, root((8/12)^2 + 2).
  it('hips of equal slopes at 8 in 12 are 1.5635 times the run', async () => {
    const [length, width] = [13, 9];
    const record = await surveyPoints(roofPoints(length, width, hip(length, width, 8 / 12)), null);
    const hips = edgesOf(record, 'hip');
    expect(hips).toHaveLength(4);
    for (const { slopeLengthM } of hips) expect(Math.abs(held(slopeLengthM) / (width / 2) - 1.5635)).toBeLessThan(0.012);
    for (const { pitchDeg } of record.buildings[0]!.roofPlanes) expect(Math.abs(held(pitchDeg) - 33.69)).toBeLessThan(0.03);
  }, 60_000);
});

describe('tables of pitch', () => {
  // roofonline.com, hip and valley factor table: rise in 12, angle in degrees. Half the last digit.
  const TABLE: readonly (readonly [number, number])[] = [
    [1, 4.76], [2, 9.46], [3, 14.04], [4, 18.43], [5, 22.62], [6, 26.57], [7, 30.26], [8, 33.69], [9, 36.87], [10, 39.81],
    [11, 42.51], [12, 45], [13, 47.29], [14, 49.4], [15, 51.34], [16, 53.13], [17, 54.78], [18, 56.31], [19, 57.72], [20, 59.04],
  ];
  const written = (pitchDeg: number, pitch: 'in-12' | 'percent'): string => plainReading({ value: pitchDeg, u95: 0.01 }, 'pitch', { length: 'm', pitch });

  it.each(TABLE)('%i in 12 is %f degrees', (rise, angle) => {
    expect(parseFloat(written(angle, 'in-12'))).toBeCloseTo(rise, 1);
  });

  // Least slopes of standards as degrees: IBC 1507 1/4 in 12; BS 6229:2018 1 in 80 finished, 1 in 40 designed.
  it.each([[1.1935, 2.083], [0.7162, 1.25], [1.4321, 2.5]])('%f degrees is %f per cent', (angle, percent) => {
    expect(parseFloat(written(angle, 'percent'))).toBeCloseTo(percent, 1);
  });
});

/** A plane that rises so many in 12 towards the north, known exactly. */
const rising = (rise: number, towards: Vector2): FaceFit =>
  ({ centroid: [0, 0], elevation: 5, slopeX: (rise / 12) * towards[0], slopeY: (rise / 12) * towards[1], covariance: [0, 0, 0, 0, 0, 0, 0, 0, 0], noise: 0 }) as unknown as FaceFit;

const NO_SCATTER = { edges: 0, rim: 0, planes: 0 };

describe('tables of slope factors', () => {
  // Slope multipliers of roofing tables, root(1 + (x/12)²); from memory, 1.0541 and 1.1180 seen. Half the last digit.
  it.each([
    [1, 1.0035], [2, 1.0138], [3, 1.0308], [4, 1.0541], [5, 1.0833], [6, 1.118], [7, 1.1577], [8, 1.2019], [9, 1.25], [10, 1.3017], [11, 1.3566],
    [12, 1.4142], [14, 1.5366], [16, 1.6667], [18, 1.8028], [20, 1.9437], [24, 2.2361],
  ])('%i in 12: the slope has %f times the area of the plan', (rise, factor) => {
    const { slope, plan } = areaReadings(rising(rise, [0, 1]), { planArea: 100, plan: NO_SCATTER, slope: NO_SCATTER }, DEFAULT_ASSUMPTIONS);
    expect(Math.abs(slope.value / plan.value - factor)).toBeLessThan(6e-5);
  });

  // Hip and valley factors (roofonline.com), times the run; the table's own rounding is 1e-4 off at 3 and 4 in 12.
  it.each([
    [1, 1.4167], [2, 1.424], [3, 1.4362], [4, 1.4529], [5, 1.4743], [6, 1.5], [7, 1.5298], [8, 1.5635], [9, 1.6008], [10, 1.6415], [11, 1.6853],
    [12, 1.7321], [13, 1.7815], [14, 1.8333], [15, 1.8874], [16, 1.9437], [17, 2.0017], [18, 2.0616], [19, 2.123], [20, 2.1858],
  ])('%i in 12: two planes meet in a hip of %f times the run', (rise, factor) => {
    const [a, b] = [rising(rise, [1, 0]), rising(rise, [0, 1])];
    const hip = intersectionLine(a, b)!;
    // Along the hip until the run, square to an eave, is one.
    const along = 1 / Math.abs(hip.direction[0]);
    const ends = [onLine(hip, 0), onLine(hip, along)];
    const climbed = elevationAt(a, ends[1]!) - elevationAt(a, ends[0]!);
    expect(Math.abs(elevationAt(b, ends[1]!) - elevationAt(a, ends[1]!))).toBeLessThan(1e-12);
    expect(Math.abs(Math.hypot(along, climbed) - factor)).toBeLessThan(1.1e-4);
  });
});
