import { describe, expect, it } from 'vitest';
import { judgeFeature } from '../../../src/reading/resolvability.ts';

const survey = { noise: 0.02, correlationLength: 0.04, spacing: 0.02 };

describe('what a survey can show', () => {
  it('follows h D >= 2 z sigma l', () => {
    // 2 × 4.5 × 0.02 × 0.04 = 0.0072 m²: at a width of 0.2 m the limit is 3.6 cm.
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.035 }).resolvability).toBe('below');
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.037 }).resolvability).toBe('marginal');
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.073 }).resolvability).toBe('marginal');
    // Two and a half times the limit, and at least 5 cm.
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.091 }).resolvability).toBe('resolved');
  });

  it('asks for samples across, of points or of pixels', () => {
    expect(judgeFeature({ ...survey, width: 0.055, height: 3 }).resolvability).toBe('below');
    expect(judgeFeature({ ...survey, width: 0.13, height: 3 }).resolvability).toBe('marginal');
    expect(judgeFeature({ ...survey, width: 0.3, height: 3, groundSampleDistance: 0.05 }).resolvability).toBe('marginal');
  });

  it('a hole is judged as a rise', () => {
    expect(judgeFeature({ ...survey, width: 0.5, height: -0.2 }).resolvability).toBe('resolved');
  });

  it('says why in one sentence with the numbers', () => {
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.01 }).why).toBe('20.0 cm wide and 1.0 cm high: at this size the noise hides what is lower than 3.6 cm.');
  });

  it('is never sure of a thing whose height nobody knows', () => {
    const verdict = judgeFeature({ ...survey, width: 2, height: null });
    expect(verdict.resolvability).toBe('marginal');
    expect(verdict.verifyOnSite).toBe(true);
    expect(judgeFeature({ ...survey, width: 0.055, height: null }).resolvability).toBe('below');
  });

  it("adds whether the survey meets the client's limit", () => {
    const gutter = { ...survey, width: 0.127, height: 0.1 };
    expect(judgeFeature({ ...gutter, groundSampleDistance: 0.02 }, 0.03)).toMatchObject({ meetsClient: true });
    expect(judgeFeature({ ...gutter, groundSampleDistance: 0.02 }, 0.03).why).toContain("The survey's 2.0 cm per pixel meets the client's limit of 3.0 cm.");
    expect(judgeFeature({ ...gutter, groundSampleDistance: 0.05 }, 0.03)).toMatchObject({ meetsClient: false });
    expect(judgeFeature({ ...gutter, groundSampleDistance: 0.05 }, 0.03).why).toContain('does not meet');
    expect(judgeFeature({ ...gutter, groundSampleDistance: null }, 0.03)).toMatchObject({ meetsClient: null });
    expect(judgeFeature({ ...gutter, groundSampleDistance: 0.02 }).meetsClient).toBeNull();
  });

  it('a line is judged by half the samples, and by its length', () => {
    const pipe = { ...survey, width: 0.08, height: 0.1 };
    expect(judgeFeature(pipe).resolvability).toBe('marginal');
    expect(judgeFeature({ ...pipe, length: 3 }).resolvability).toBe('resolved');
    expect(judgeFeature({ ...survey, width: 0.035, height: 0.2, length: 3 }).resolvability).toBe('marginal');
    expect(judgeFeature({ ...survey, width: 0.035, height: 0.2 }).resolvability).toBe('below');
  });

  it('nothing lower than tiles and laps is a thing', () => {
    expect(judgeFeature({ noise: 0.002, correlationLength: 0, spacing: 0.005, width: 0.5, height: 0.02 }).resolvability).toBe('below');
  });

  // Outer widths: ASTM D1785 pipes of schedule 40 as vents (from memory), K-style gutters of 5 and 6 inches
  // (newenglandmetalroof.com), domes of roof drains of 10 to 15 inches (plumbing-code tables, from memory); vents stand at
  // least 6 inches above a roof (IRC P3103). Clouds of one point a pixel, 1.5 pixels of white noise: common practice, no source.
  it.each([
    ['1.5 in vent', 0.0483, 0.1524, undefined, { 0.005: 'resolved', 0.01: 'marginal', 0.02: 'below', 0.05: 'below' }],
    ['3 in vent', 0.0889, 0.1524, undefined, { 0.005: 'resolved', 0.01: 'resolved', 0.02: 'marginal', 0.05: 'below' }],
    ['4 in vent', 0.1143, 0.1524, undefined, { 0.005: 'resolved', 0.01: 'resolved', 0.02: 'marginal', 0.05: 'below' }],
    ['5 in gutter', 0.127, 0.1, 8, { 0.005: 'resolved', 0.01: 'resolved', 0.02: 'resolved', 0.05: 'marginal' }],
    ['10 in dome of a drain', 0.254, 0.1, undefined, { 0.005: 'resolved', 0.01: 'resolved', 0.02: 'resolved', 0.05: 'below' }],
  ] as const)('%s by pixel size', (_, width, height, length, expected) => {
    for (const [pixel, verdict] of Object.entries(expected)) {
      const spacing = Number(pixel);
      const input = { width, height, noise: 1.5 * spacing, correlationLength: 0, spacing, groundSampleDistance: spacing, ...(length === undefined ? {} : { length }) };
      expect(judgeFeature(input).resolvability, `${pixel} m`).toBe(verdict);
    }
  });
});
