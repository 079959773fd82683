import { describe, expect, it } from 'vitest';
import { judgeFeature } from '../../../src/reading/resolvability.ts';

const survey = { noise: 0.02, correlationLength: 0.04, spacing: 0.02 };

describe('what a survey can show', () => {
  it('follows h D >= 2 z sigma l', () => {
    // 2 × 4.5 × 0.02 × 0.04 = 0.0072 m²: at a width of 0.2 m the limit is 3.6 cm.
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.035 }).resolvability).toBe('below');
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.037 }).resolvability).toBe('marginal');
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.073 }).resolvability).toBe('resolved');
  });

  it('asks for samples across, of points or of pixels', () => {
    expect(judgeFeature({ ...survey, width: 0.07, height: 3 }).resolvability).toBe('below');
    expect(judgeFeature({ ...survey, width: 0.15, height: 3 }).resolvability).toBe('marginal');
    expect(judgeFeature({ ...survey, width: 0.3, height: 3, groundSampleDistance: 0.05 }).resolvability).toBe('marginal');
  });

  it('a hole is judged as a rise', () => {
    expect(judgeFeature({ ...survey, width: 0.5, height: -0.2 }).resolvability).toBe('resolved');
  });

  it('says why in one sentence with the numbers', () => {
    expect(judgeFeature({ ...survey, width: 0.2, height: 0.01 }).why).toBe('20.0 cm wide and 1.0 cm high: at this width the noise hides what is lower than 3.6 cm.');
  });

  it('is never sure of a thing whose height nobody knows', () => {
    const verdict = judgeFeature({ ...survey, width: 2, height: null });
    expect(verdict.resolvability).toBe('marginal');
    expect(verdict.verifyOnSite).toBe(true);
    expect(judgeFeature({ ...survey, width: 0.07, height: null }).resolvability).toBe('below');
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
});
