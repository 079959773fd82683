import { describe, expect, it } from 'vitest';
import { areaReadings, lengthReading, slopeAreaGradient } from '../../../src/reading/area-uncertainty.ts';
import { azimuthReading, heightVariance, pitchReading, planeOf, SIGMAS_95, type PlaneEstimate } from '../../../src/reading/plane-uncertainty.ts';
import { isKnown, type Measured } from '../../../src/units/measured.ts';

const none = { tiltDeg: 0, scale: 0, northDeg: 0 };
const estimate = (slopeX: number, slopeY: number, covariance = [1e-6, 0, 0, 0, 1e-6, 0, 0, 0, 4e-6]): PlaneEstimate => ({ centroid: [10, 20], elevation: 5, slopeX, slopeY, covariance });
const known = (number: Measured) => {
  if (!isKnown(number)) throw new Error(number.why);
  return number;
};
const DEGREES = 180 / Math.PI;

describe('pitch and azimuth of a plane', () => {
  it('a plane that rises 1 in 1 to the north faces south at 45 degrees', () => {
    expect(known(pitchReading(estimate(0, 1), none)).value).toBeCloseTo(45, 12);
    expect(known(azimuthReading(estimate(0, 1), 0, none)).value).toBeCloseTo(180, 12);
    expect(known(azimuthReading(estimate(1, 0), 0, none)).value).toBeCloseTo(270, 12);
    expect(known(azimuthReading(estimate(0, -1), 0, none)).value).toBeCloseTo(0, 12);
  });

  it('uses the slope scatter along the fall for pitch, across it for azimuth', () => {
    // Fall along y with sigma 0.002; across it sigma 0.001. d atan(f) = df / (1 + f²).
    const fall = 0.5;
    expect(known(pitchReading(estimate(0, fall), none)).u95).toBeCloseTo((SIGMAS_95 * 0.002 * DEGREES) / (1 + fall * fall), 4);
    expect(known(azimuthReading(estimate(0, fall), 0, none)).u95).toBeCloseTo((SIGMAS_95 * 0.001 * DEGREES) / fall, 9);
  });

  it('azimuth grows vague as the plane levels: slope sd 0.05 degrees gives 2.9 degrees at 1, 0.57 at 5, 0.09 at 30', () => {
    const sigma = Math.tan(0.05 / DEGREES);
    for (const [pitch, expected] of [[1, 2.9], [5, 0.57], [30, 0.09]] as const) {
      const reading = known(azimuthReading(estimate(0, Math.tan(pitch / DEGREES), [1e-6, 0, 0, 0, sigma ** 2, 0, 0, 0, sigma ** 2]), 0, none));
      expect(Math.abs(reading.u95 / SIGMAS_95 - expected)).toBeLessThan(0.04);
    }
  });

  it('a level plane has a pitch and no azimuth', () => {
    expect(known(pitchReading(estimate(0, 0), none)).value).toBe(0);
    expect(azimuthReading(estimate(0, 0), 0, none)).toEqual({ value: null, why: 'level plane' });
    // A fall of two sigmas is no fall.
    expect(azimuthReading(estimate(0, 0.04, [0, 0, 0, 0, 4e-4, 0, 0, 0, 4e-4]), 0, none).value).toBeNull();
  });

  it('keeps assumptions as parts of their own name that add up', () => {
    const reading = known(pitchReading(estimate(0, 0.5), { tiltDeg: 0.3, scale: 0.003, northDeg: 1 }));
    expect(reading.parts!.map(({ name }) => name)).toEqual(['fit', 'tilt', 'scale']);
    expect(Math.hypot(...reading.parts!.map(({ u95 }) => u95))).toBeCloseTo(reading.u95, 12);
  });

  it('0.3 % between height and plan scale turns 30 degrees by 0.074', () => {
    const reading = known(pitchReading(estimate(0, Math.tan(Math.PI / 6)), { tiltDeg: 0, scale: 0.003, northDeg: 0 }));
    expect(reading.parts!.find(({ name }) => name === 'scale')!.u95).toBeCloseTo(0.074, 3);
  });

  it('height variance grows away from the centroid', () => {
    expect(heightVariance(estimate(0, 0), [10, 20])).toBeCloseTo(1e-6, 15);
    expect(heightVariance(estimate(0, 0), [13, 20])).toBeCloseTo(1e-6 + 9e-6, 15);
    expect(heightVariance(estimate(0, 0), [10, 22])).toBeCloseTo(1e-6 + 16e-6, 15);
  });

  it('normal and offset put the centroid on the plane', () => {
    const { normal, offset } = planeOf(estimate(0.3, -0.2));
    expect(Math.hypot(...normal)).toBeCloseTo(1, 14);
    expect(normal[0] * 10 + normal[1] * 20 + normal[2] * 5 + offset).toBeCloseTo(0, 12);
  });
});

describe('areas and lengths', () => {
  it('what edges and planes leave open counts as 95 %, apart and together', () => {
    // 10 × 6 m, four sides of 20 mm each, independent: 0.33 m² (one sigma).
    const edges = 0.02 * Math.sqrt(2 * 100 + 2 * 36);
    const { plan, slope } = areaReadings(estimate(0, 1), { planArea: 60, plan: { edges, rim: 0, planes: 0 }, slope: { edges: edges * Math.SQRT2, rim: 0.2, planes: 0.5 } }, none);
    expect(known(plan).u95 / SIGMAS_95).toBeCloseTo(0.33, 2);
    expect(known(slope).parts!.find(({ name }) => name === 'edge')!.u95).toBeCloseTo(known(plan).u95 * Math.SQRT2, 12);
    expect(known(slope).u95).toBeCloseTo(SIGMAS_95 * Math.hypot(edges * Math.SQRT2, 0.2, 0.5), 12);
  });

  it('slope area is plan area over cos pitch, and half a degree of pitch costs 0.5 % at 30 degrees', () => {
    const plane = estimate(0, Math.tan(Math.PI / 6));
    const { slope } = areaReadings(plane, { planArea: 60, plan: { edges: 0, rim: 0, planes: 0 }, slope: { edges: 0, rim: 0, planes: 0 } }, none);
    expect(known(slope).value).toBeCloseTo(60 / Math.cos(Math.PI / 6), 12);
    const turned = (0.5 / DEGREES) * (1 + Math.tan(Math.PI / 6) ** 2);
    const gradient = slopeAreaGradient(plane, 60);
    expect((gradient.slopeY * turned) / known(slope).value).toBeCloseTo(0.005, 4);
    expect(gradient.slopeX).toBe(0);
  });

  it('a length has the scatter of both ends and the scale', () => {
    const reading = known(lengthReading(10, 0.003, 0.004, { tiltDeg: 0, scale: 0.001, northDeg: 0 }));
    expect(reading.u95).toBeCloseTo(Math.hypot(SIGMAS_95 * 0.005, 0.01), 12);
  });
});
