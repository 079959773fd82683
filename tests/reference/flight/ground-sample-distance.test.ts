import { describe, expect, it } from 'vitest';
import { flightGeometry, groundSampleDistance, heightForGroundSampleDistance } from '../../../src/flight/camera-arithmetic.ts';

describe('ground sample distance', () => {
  // Worked figure of a public camera-arithmetic page (bit1024.com): 100 m, 36 mm, 50 mm, 4000 px give 0.018 m, which the page prints as "cm".
  it('100 m, 36 mm sensor, 50 mm lens, 4000 pixels: 1.8 cm', () => {
    const camera = { sensorWidth: 0.036, focalLength: 0.05, imageWidth: 4000, imageHeight: 3000 };
    expect(groundSampleDistance(camera, 100)).toBeCloseTo(0.018, 12);
    expect(heightForGroundSampleDistance(camera, 0.018)).toBeCloseTo(100, 9);
  });

  // Normal case of photogrammetry with half a pixel: base of 20 % of the image height is 2.5 GSD for this shape (own arithmetic from the formula).
  it('height sigma of one pair grows as the base shrinks', () => {
    const camera = { sensorWidth: 0.0132, focalLength: 0.0088, imageWidth: 5472, imageHeight: 5472 };
    const wide = flightGeometry(camera, 100, 0.6, 0.7);
    const narrow = flightGeometry(camera, 100, 0.9, 0.7);
    expect(wide.groundSampleDistance).toBeCloseTo(0.02741, 5);
    expect(narrow.pairHeightSigma / wide.pairHeightSigma).toBeCloseTo(4, 12);
    expect(wide.footprintWidth).toBeCloseTo(150, 9);
  });

  it('refuses an overlap of 1', () => {
    expect(() => flightGeometry({ sensorWidth: 1, focalLength: 1, imageWidth: 1, imageHeight: 1 }, 1, 1, 0)).toThrow(RangeError);
  });
});
